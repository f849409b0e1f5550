"""The page that says what was changed of a record, and its list."""

import zoneinfo

import django_tables2 as tables
from django.apps import apps
from django.http import Http404
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.decorators.http import require_safe

from shop.audit.models import Change
from shop.audit.reading import changes_of
from shop.audit.tables import trailed
from shop.audit.words import Words
from shop.web.listing import arrange, csv_of, wants_csv

from .access import find


class ChangeTable(tables.Table):
    """Changes, newest first, each field from what to what."""

    at = tables.Column("When", orderable=False)
    by = tables.Column("Who", empty_values=(), orderable=False)
    what = tables.Column("Record", empty_values=(), orderable=False)
    kind = tables.Column("What happened", orderable=False)
    fields = tables.Column("Before / after", empty_values=(), orderable=False)

    class Meta:
        model = Change
        fields = ("at", "by", "what", "kind", "fields")
        empty_text = "Nothing was changed since the trail began."

    def __init__(self, data, *, words):
        super().__init__(data)
        self.words = words

    def load(self, changes):
        """Look up the names that the rows to be shown refer to."""
        self.words.load(changes)

    def render_at(self, value):
        return self.words.moment(value)

    def value_at(self, value):
        return value.isoformat()

    def render_by(self, record):
        return record.who.name if record.who else record.via

    def render_what(self, record):
        return self.words.record(record)

    def render_fields(self, record):
        told = self.words.fields(record)
        return render_to_string("shop/_field_changes.html", {"fields": told, "change": record})

    def value_fields(self, record):
        told = self.words.fields(record)
        return "; ".join(f"{one.name}: {one.old or '-'} → {one.new or '-'}" for one in told)


@require_safe
def changes(request, app, model, pk):
    """What was changed of one record, by whom and when: for whoever may see the record."""
    found = _model(app, model)
    # What was withdrawn is on the trail as well.
    records = getattr(found, "everything", found.objects)
    record = find(records, request.user, pk=pk)
    found = changes_of(record, request.user)
    table = ChangeTable(found, words=Words(unit=request.user.length_unit, zone=zone_of(record)))
    if wants_csv(request):
        table.load(found)
        return csv_of(table, f"changes of {record}")
    arrange(request, table)
    table.load([row.record for row in table.page.object_list])
    context = {"record": record, "table": table}
    return render(request, "shop/changes.html", context)


def _model(app, name):
    """The model whose records have such a page; Http404 for any other."""
    try:
        model = apps.get_model(app, name)
    except LookupError as error:
        raise Http404("no such record") from error
    table = trailed().get(model._meta.db_table)
    if table is None or not table.has_page or not hasattr(model.objects.all(), "visible_to"):
        raise Http404("no such record")
    return model


def zone_of(record):
    """The zone of the shop a record belongs to; UTC for what belongs to none."""
    for path in (("zone",), ("shop", "zone"), ("machine", "shop", "zone")):
        found = record
        for name in path:
            found = getattr(found, name, None)
        if found is not None:
            return found
    return zone_of(record.visit) if hasattr(record, "visit") else zoneinfo.ZoneInfo("UTC")
