"""Two people who edit one record: the second is told what the first changed, and keeps what they
typed.

A form that changes a record carries the number of the record's newest change when it was drawn.
When it is sent and somebody changed one of its fields since, it is not saved; it says who changed
what, and sent once more it is saved over that.
"""

import functools
import json

from django import forms
from django.contrib import messages
from django.db import transaction
from django.db.models import Max, Q

from shop.audit.models import Change
from shop.audit.tables import key_of
from shop.audit.words import Words
from shop.web.listing import whole_number

from .changes import zone_of

FIELD = "version"


def editing(view):
    """Decorate a view that changes one record through a form it has `stamped`.

    What the view saved is taken back when, at the end, somebody else turns out to have changed the
    record since the form was drawn. Asked after saving, the question cannot come too early: whoever
    saves holds the row until the end.
    """

    @functools.wraps(view)
    def one_at_a_time(request, *args, **kwargs):
        if request.method != "POST":
            return view(request, *args, **kwargs)
        with transaction.atomic():
            answer = view(request, *args, **kwargs)
            edit = getattr(request, "edit", None)
            overtaken = edit is not None and not edit.told and bool(edit.changed_since())
            if overtaken:
                transaction.set_rollback(True)
        if not overtaken:
            return answer
        for file in request.FILES.values():
            file.seek(0)
        list(messages.get_messages(request))  # what was said of the saving is not shown
        return view(request, *args, **kwargs)

    return one_at_a_time


def stamped(request, form, record, *, parts=()):
    """The form, with the record's version in it; told off when it was sent with an older one.

    parts: querysets of the parts of the record that it changes too, such as a plan's subjects.
    """
    edit = Edit(request, form, record, parts)
    field = forms.CharField(widget=forms.HiddenInput, required=False)
    form.fields[FIELD] = field
    form.initial[FIELD] = edit.newest
    if form.is_bound:
        request.edit = edit
        if changes := edit.changed_since():
            edit.tell(changes)
    return form


class Edit:
    """One form's change of one record."""

    def __init__(self, request, form, record, parts):
        self.request, self.form, self.record = request, form, record
        self.key = key_of(record)
        concerned = Q(record=self.key)
        for rows in parts:
            concerned |= _parts(self.key, rows)
        self.changes = Change.objects.filter(concerned)
        self.newest = self.changes.aggregate(Max("pk"))["pk__max"] or 0
        self.columns = _columns(form, record)
        self.told = False

    def changed_since(self):
        """The changes, newest first, that others made to the form's fields since it was drawn."""
        sent = self.form.data.get(self.form.add_prefix(FIELD), "")
        newest = whole_number(sent)
        if newest is None:
            return []
        others = self.changes.filter(pk__gt=newest).exclude(request_id=self.request.request_id)
        found = others.select_related("who").order_by("-pk")
        return [change for change in found if self._concerns(change)]

    def _concerns(self, change):
        if change.record != self.key or change.kind != Change.Kind.CHANGED:
            return True
        return bool(self.columns & set(json.loads(change.after)))

    def tell(self, changes):
        """Say on the form what was changed meanwhile, and let it be sent again over that."""
        words = Words(unit=self.request.user.length_unit, zone=zone_of(self.record))
        words.load(changes)
        told = " ".join(self._sentence(change, words) for change in changes)
        self.told = True
        again = getattr(self.form, "again", "Send it again to save what you typed over that.")
        self.form.add_error(None, f"{told} {again}")
        self.form.data = self.form.data.copy()
        self.form.data[self.form.add_prefix(FIELD)] = str(self.newest)

    def _sentence(self, change, words):
        who = change.who.name if change.who else change.via
        record = "this" if change.record == self.key else words.record(change).lower()
        what = ", ".join(
            f"{one.name.lower()} from {one.old or 'nothing'} to {one.new or 'nothing'}"
            for one in words.fields(change)
        )
        did = "removed" if change.kind == Change.Kind.REMOVED else "changed"
        return f"Meanwhile, {words.moment(change.at)}, {who} {did} {record}: {what}."


def _columns(form, record):
    """The columns that the form's fields stand for; all of them when none goes by its name."""
    columns = {field.name: field.column for field in record._meta.concrete_fields}
    return {columns[name] for name in form.fields if name in columns} or set(columns.values())


def _parts(key, rows):
    """The changes of parts that are there now, and of those that were added or removed."""
    table = rows.model._meta.db_table
    present = [f"{table}:{pk}" for pk in rows.order_by().values_list("pk", flat=True)]
    return Q(record__in=present) | Q(within=key, record__startswith=f"{table}:")
