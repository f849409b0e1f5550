"""What a signature stands for: each record as it was, by the digest of what it said.

Which records, and what they are called, is declared beside the models (`shop.record`).
"""

import hashlib
import json
from collections import Counter

from django.apps import apps
from django.contrib.contenttypes.models import ContentType
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import BigIntegerField

from shop.audit.archive_rules import in_order, label_of, loose_reference
from shop.record import our_models, rules_of

from .models import SignedRecord

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


def signed_rows(visit):
    """Yield (name, record, rows that are part of what it says) of all that a signature is for; one
    query for each kind of record and of rows."""
    for model in in_order(our_models()):
        said = rules_of(model).signed
        if said is None:
            continue
        records = model.objects.filter(visit=visit).select_related(*said.select)
        for one in records.prefetch_related(*said.rows).order_by(*said.order):
            rows = [row for way in said.rows for row in _along(one, way.split("__"))]
            yield said.name.format(one), one, rows


def _along(record, way):
    """The rows that a way of reverse keys leads to."""
    rows = [record]
    for name in way:
        rows = [one for row in rows for one in _related(row, name)]
    return rows


def _related(row, name):
    found = getattr(row, name, None)
    if found is None:
        return []
    return found.all() if hasattr(found, "all") else [found]


def list_signed_records(visit):
    """Write down what is being signed; call it in the transaction that signs."""
    found = signed_rows(visit)
    told = [(name, said_by(record, rows)) for name, record, rows in found]
    names = _each_its_own([name for name, _said in told])
    SignedRecord.objects.bulk_create(
        SignedRecord(visit=visit, position=position, name=name, digest=digest_of(said), said=said)
        for position, (name, (_name, said)) in enumerate(zip(names, told, strict=True), start=1)
    )


def _each_its_own(names):
    """The names, cut to what is kept; of those alike the second and later numbered."""
    seen = Counter()
    for name in names:
        seen[name] += 1
        number = f" ({seen[name]})" if seen[name] > 1 else ""
        yield name[: NAME_LENGTH - len(number)] + number


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
