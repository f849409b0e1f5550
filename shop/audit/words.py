"""A change in words: which record, which fields, from what to what."""

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import PurePath

from django.db import models
from django.utils.text import capfirst

from shop.lengths import format_length
from shop.web.wording import day_text, time_text

from .tables import trailed

NOTHING = "nothing"
LONGEST = 300
PLACES_OF_MONEY = 2
# Said on the page by other means, or nothing to a reader.
UNSAID = {"entry_id"}


@dataclass(frozen=True)
class FieldChange:
    """One field's change in words; `old` is empty where the record is new, `new` where it went."""

    name: str
    old: str
    new: str


class Words:
    """Tells changes to one reader.

    unit: the reader's unit of length; zone: the shop's. `load` fetches the names of what the
    changes refer to, one query for each kind of thing.
    """

    def __init__(self, *, unit, zone):
        self.unit, self.zone = unit, zone
        self._names = {}

    def load(self, changes):
        """Look up the names of everything that `changes` refer to; runs SQL."""
        wanted = {}
        for change in changes:
            fields = _fields(change.record)
            for said in _sides(change):
                for column, raw in said.items():
                    field = fields.get(column)
                    if field is not None and field.is_relation and raw is not None:
                        wanted.setdefault(field.related_model, set()).add(raw)
        for model, keys in wanted.items():
            found = model._base_manager.in_bulk(keys - self._known(model))
            self._names.update({(model, pk): _name(one) for pk, one in found.items()})

    def _known(self, model):
        return {pk for of, pk in self._names if of is model}

    def record(self, change):
        """Which record it is, such as "Work spell no. 12"."""
        return self.name_of(change.record)

    @staticmethod
    def name_of(record):
        """A record's key in words: "shop_workspell:12" is "Work spell no. 12"."""
        table, key = record.rsplit(":", 1)
        known = trailed().get(table)
        return f"{capfirst(known.model._meta.verbose_name if known else table)} no. {key}"

    def differences(self, one):
        """(field, as told, as found) of a `rows.Difference`, where the two differ."""
        fields = _fields(one.record)
        for column in dict.fromkeys((*fields, *one.told, *one.found)):
            told, found = one.told.get(column), one.found.get(column)
            if told != found or (column in one.told) != (column in one.found):
                field = fields.get(column)
                yield _label(field, column), self.value(field, told), self.value(field, found)

    def fields(self, change):
        """The `FieldChange`s of a change, in the order of the record's fields."""
        before, after = _sides(change)
        table = trailed().get(change.record.rsplit(":", 1)[0])
        unsaid = UNSAID | ({table.pk_column, *(c for c, _ in table.parts_of)} if table else set())
        fields = _fields(change.record)
        columns = [column for column in (*fields, *before, *after) if column in before | after]
        shown = [column for column in dict.fromkeys(columns) if column not in unsaid]
        told = [self._field(fields.get(c), c, before, after) for c in shown]
        return [one for one in told if {one.old, one.new} - {"", NOTHING}]

    def _field(self, field, column, before, after):
        name = _label(field, column)
        return FieldChange(
            name, self._side(field, column, before), self._side(field, column, after)
        )

    def _side(self, field, column, said):
        return self.value(field, said[column]) if column in said else ""

    def moment(self, moment):
        """A moment in the shop's zone; a record of no one shop has its moments in UTC."""
        told = time_text(moment, self.zone)
        return f"{told} UTC" if self.zone.key == "UTC" else told

    def value(self, field, raw):
        """A stored value as people write it."""
        if raw in (None, "", "[]", "{}", [], {}):
            return NOTHING
        if field is None:
            return _short(raw)
        if field.is_relation:
            model = field.related_model
            return self._names.get((model, raw), f"{model._meta.verbose_name} no. {raw}")
        if field.flatchoices:
            return str(dict(field.flatchoices).get(raw, raw))
        return self._plain(field, raw)

    def _plain(self, field, raw):
        if isinstance(field, models.BooleanField):
            return "yes" if raw else "no"
        if isinstance(field, models.DateTimeField):
            moment = datetime.fromisoformat(raw)
            return self.moment(moment if moment.tzinfo else moment.replace(tzinfo=UTC))
        if isinstance(field, models.DateField):
            return day_text(date.fromisoformat(raw))
        if isinstance(field, models.DecimalField):
            number = Decimal(str(raw))
            if field.name.endswith("_um"):
                return format_length(number, self.unit, with_unit=True)
            is_money = field.decimal_places == PLACES_OF_MONEY
            return f"{number:.2f}" if is_money else f"{number.normalize():f}"
        if isinstance(field, models.FileField):
            return PurePath(raw).name
        return _short(raw)


def _label(field, column):
    """A field's name as its pages have it; lengths are told with their unit, so it goes unsaid."""
    if field is None:
        return column
    return capfirst(str(field.verbose_name).removesuffix(" um"))


def _fields(record):
    """{column: field} of the table that a record's key names; empty for one no longer there."""
    table = trailed().get(record.rsplit(":", 1)[0])
    fields = table.model._meta.concrete_fields if table else ()
    return {field.column: field for field in fields}


def _sides(change):
    """What the row said (before, after), as dictionaries by column."""
    return tuple(json.loads(side) if side else {} for side in (change.before, change.after))


def _name(record):
    return getattr(record, "name", None) or str(record)


def _short(raw):
    text = raw if isinstance(raw, str) else json.dumps(raw, ensure_ascii=False)
    return text if len(text) <= LONGEST else f"{text[:LONGEST]}…"
