"""Taking a shop out: every row that is the shop's, every file, and what the rows name besides."""

import json
from datetime import UTC, datetime

from django.contrib.contenttypes.models import ContentType
from django.db import connection, models, transaction

from shop.errors import Refused
from shop.packing import Packer, chunks_of

from . import FILES, KIND, RECORDS, VERSION
from .rules import (
    Named,
    Stays,
    fields_of,
    going,
    label_of,
    loose_reference,
    references_of,
    rows_of,
    rules,
)
from .values import told

BATCH = 500


def take_out(shop, file):
    """Write the archive of a shop into an open file; returns {table's label: how many rows}.

    All of it is as it was at one moment. Passwords and other secrets never leave.
    """
    with transaction.atomic():
        _hold_one_moment()
        chosen = _choose(shop)
        packer = Packer(file)
        names = set()
        for model, keys in chosen.items():
            lines = _lines(model, sorted(keys), names)
            packer.add(f"{RECORDS}{label_of(model)}.jsonl", lines)
        for name, storage in sorted(names, key=lambda pair: pair[0]):
            packer.add(FILES + name, _content(storage, name), shrink=False)
        rows = {label_of(model): len(keys) for model, keys in chosen.items()}
        packer.finish(
            kind=KIND,
            version=VERSION,
            shop=shop.name,
            made_at=datetime.now(UTC).isoformat(timespec="seconds"),
            rows=rows,
        )
    return rows


def _hold_one_moment():
    """Let the transaction see one moment throughout; SQLite's does of itself."""
    if connection.vendor == "postgresql" and len(connection.savepoint_ids) == 0:
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")


def _choose(shop):
    """{model: primary keys} of what goes, in the order of the rules."""
    chosen = {model: set(rows_of(model, shop).values_list("pk", flat=True)) for model in going()}
    waiting = chosen
    while waiting:
        named = {}
        for model, keys in waiting.items():
            for field in references_of(model):
                new = _named_by(model, keys, field) - chosen[field.related_model]
                if new and not isinstance(rules()[field.related_model], Named):
                    raise TypeError(f"{label_of(model)}.{field.name} leads out of the shop")
                named.setdefault(field.related_model, set()).update(new)
        waiting = {model: keys for model, keys in named.items() if keys}
        for model, keys in waiting.items():
            chosen[model] |= keys
    return chosen


def _named_by(model, keys, field):
    """The primary keys that a field of the rows with `keys` names."""
    values = set()
    for some in _batches(sorted(keys)):
        rows = model._base_manager.filter(pk__in=some).order_by()
        values |= set(rows.values_list(field.attname, flat=True).distinct())
    return values - {None}


def _lines(model, keys, names):
    """Yield the rows as JSON lines; adds (name, storage) of their files to `names`."""
    fields, loose = fields_of(model), loose_reference(model)
    for some in _batches(keys):
        for row in model._base_manager.filter(pk__in=some).order_by("pk"):
            said = {"id": row.pk}
            for field in fields:
                said[field.name] = _told(row, field, loose, names)
            yield json.dumps(said, ensure_ascii=False).encode() + b"\n"


def _told(row, field, loose, names):
    value = field.value_from_object(row)
    if loose and field.name == loose.ct_field:
        return label_of(ContentType.objects.get_for_id(value).model_class())
    if field.is_relation and isinstance(rules()[field.related_model], Stays):
        return None
    if isinstance(field, models.FileField) and value:
        names.add((value.name, field.storage))
    return told(value)


def _content(storage, name):
    try:
        with storage.open(name) as file:
            yield from chunks_of(file)
    except FileNotFoundError as error:
        raise Refused(
            f"The file '{name}' is on record but is gone; put it back from a backup first."
        ) from error


def _batches(keys):
    for start in range(0, len(keys), BATCH):
        yield keys[start : start + BATCH]
