"""What a signature stands for: each record as it was, by the digest of what it said.

A source is a function of a visit that yields (name, record, rows that belong to it);
`SIGNED_RECORDS` in settings lists them.
"""

import hashlib
import json

from django.apps import apps
from django.conf import settings
from django.contrib.contenttypes.models import ContentType
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import BigIntegerField
from django.utils.module_loading import import_string

from .archive.rules import label_of, loose_reference
from .models import SignedRecord
from .wording import time_text

NAME_LENGTH = 200
# What reading raises that was written by somebody else.
UNREADABLE = (
    ValueError,
    TypeError,
    LookupError,
    AttributeError,
    ArithmeticError,
    RecursionError,
)


def said_by(record, rows=()):
    """Every field of a record and of the rows that belong to it, as JSON."""
    said = [fields_of(one) for one in (record, *rows)]
    return json.dumps(said, cls=DjangoJSONEncoder, sort_keys=True, ensure_ascii=False)


def digest_of(said):
    """SHA-256 of what a record said."""
    return hashlib.sha256(said.encode()).hexdigest()


def fields_of(record):
    """Every stored field by name; files by the name they are stored under, and the table of a
    reference to whichever table by its label, since sites number their tables each its own way."""
    fields = {field.attname: field.value_from_object(record) for field in record._meta.fields}
    values = {
        name: value if not hasattr(value, "storage") else value.name
        for name, value in fields.items()
    }
    if loose := loose_reference(type(record)):
        column = record._meta.get_field(loose.ct_field).attname
        kind = ContentType.objects.get_for_id(values[column])
        values[column] = label_of(kind.model_class())
    return {"table": record._meta.db_table, **values}


def list_signed_records(visit):
    """Write down what is being signed; call it in the transaction that signs."""
    found = [one for path in settings.SIGNED_RECORDS for one in import_string(path)(visit)]
    told = [(name[:NAME_LENGTH], said_by(record, rows)) for name, record, rows in found]
    SignedRecord.objects.bulk_create(
        SignedRecord(visit=visit, position=position, name=name, digest=digest_of(said), said=said)
        for position, (name, said) in enumerate(told, start=1)
    )


def read_said(said):
    """The rows that were signed: a list of (model, {column: value}).

    Rows of a table that is no more are left out. Raises one of UNREADABLE for what is none.
    """
    models = {model._meta.db_table: model for model in apps.get_models()}
    rows = [dict(row) for row in json.loads(said)]
    if not all(_is_number(row["id"]) for row in rows):
        raise ValueError("a row has no number")
    tables = [str(row.pop("table")) for row in rows]
    return [(models[one], row) for one, row in zip(tables, rows, strict=True) if one in models]


def numbers_in(model, row):
    """Yield (column, the model it names a row of, the number) of what a row is and refers to.

    Raises one of UNREADABLE.
    """
    loose = loose_reference(model)
    for field in model._meta.concrete_fields:
        number, named = row.get(field.attname), field.related_model or model
        if number is None or (loose and field.name == loose.ct_field):
            continue
        if loose and field.name == loose.fk_field:
            named = apps.get_model(row[model._meta.get_field(loose.ct_field).attname])
        elif not field.primary_key and not field.is_relation:
            continue
        if not _is_number(number):
            raise ValueError(f"{number!r} is no number of a row")
        yield field.attname, named, number


def renumbered(record, places):
    """The `numbers` of a signed record whose rows came under others.

    places: {model: {number there: number here}}. Raises one of UNREADABLE.
    """
    before, after = record.numbers, {}
    for model, row in read_said(record.said or "[]"):
        for _column, named, signed_as in numbers_in(model, row):
            table = named._meta.db_table
            there = number_now(before, named, signed_as)
            here = places.get(named, {}).get(there, there)
            if not _is_number(here):
                raise ValueError(f"{here!r} is no number of a row")
            if here != signed_as:
                after.setdefault(table, {})[str(signed_as)] = here
    return after


def _is_number(number):
    return type(number) is int and 0 < number <= BigIntegerField.MAX_BIGINT


def number_now(numbers, model, signed_as):
    """The number here of a row that was signed under another."""
    return numbers.get(model._meta.db_table, {}).get(str(signed_as), signed_as)


def times(visit):
    """The stretches of time of the visit; one query."""
    for spell in visit.spells.select_related("who"):
        since = time_text(spell.began_at, visit.shop.zone)
        yield f"Time: {spell.get_kind_display()} of {spell.who.name} from {since}", spell, ()
