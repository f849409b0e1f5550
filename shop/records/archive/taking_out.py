"""Taking a shop or a machine out: its rows, its files, and what the rows name besides."""

import hashlib
import json
from datetime import UTC, datetime

from django.contrib.contenttypes.models import ContentType
from django.db import models

from shop.audit.archive_rules import label_of, loose_reference, whole_shop
from shop.record import Named
from shop.records.one_moment import one_moment
from shop.records.packing import Packer, chunks_of
from shop.web.errors import Refused
from shop.web.hashed_images import sha256_name
from shop.web.site_key import signed_by_this_site

from . import FILES, RECORDS
from .values import told

BATCH = 500


def take_out(thing, file, *, scope=None, **facts):
    """Write the archive of a shop, or of what `scope` is about, into an open file.

    All of it is as it was at one moment. Passwords and other secrets never leave.
    facts: what the manifest says besides. Returns {table's label: how many rows}.
    """
    scope = scope or whole_shop()
    with one_moment():
        chosen = _choose(scope, thing)
        packer = Packer(file)
        files, rows = {}, {}
        for model in scope.going:
            lines = _lines(scope, model, chosen, files)
            label = label_of(model)
            rows[label] = 0
            packer.add(f"{RECORDS}{label}.jsonl", _counted(lines, rows, label))
        for name, (storage, sha256) in sorted(files.items()):
            packer.add(FILES + name, _content(storage, name, sha256), shrink=False)
        packer.finish(
            sign=signed_by_this_site,
            kind=scope.kind,
            version=scope.version,
            made_at=datetime.now(UTC).isoformat(timespec="seconds"),
            rows=rows,
            **facts,
        )
    return rows


def _choose(scope, thing):
    """{model: primary keys} of what goes."""
    chosen = {
        model: set(scope.rows_of(model, thing).values_list("pk", flat=True))
        for model in scope.going
    }
    if not scope.whole:
        _leave_what_cannot_go(scope, chosen)
    waiting = chosen
    while waiting:
        named = {}
        for model, keys in waiting.items():
            for field in scope.references_of(model):
                new = _named_by(model, keys, field) - chosen[field.related_model]
                if isinstance(scope.going[field.related_model], Named):
                    named.setdefault(field.related_model, set()).update(new)
                elif new and scope.whole:
                    raise TypeError(f"{label_of(model)}.{field.name} leads out of the shop")
        waiting = {model: keys for model, keys in named.items() if keys}
        for model, keys in waiting.items():
            chosen[model] |= keys
    return chosen


def _leave_what_cannot_go(scope, chosen):
    """Take out the rows that must name one which stays, until none is left."""
    before = None
    while before != (before := sum(map(len, chosen.values()))):
        for model in chosen:
            for field in scope.references_of(model):
                target = field.related_model
                if field.null or isinstance(scope.going[target], Named):
                    continue
                rows = _rows(model, chosen[model]).values_list("pk", field.attname)
                chosen[model] -= {key for key, named in rows if named not in chosen[target]}
            if loose := loose_reference(model):
                kind = model._meta.get_field(loose.ct_field)
                for row in list(_rows(model, chosen[model])):
                    kept_as = ContentType.objects.get_for_id(kind.value_from_object(row))
                    target = kept_as.model_class()
                    if getattr(row, loose.fk_field) not in chosen.get(target, ()):
                        chosen[model].discard(row.pk)


def _named_by(model, keys, field):
    """The primary keys that a field of the rows with `keys` names."""
    return {getattr(row, field.attname) for row in _rows(model, keys, field.attname)} - {None}


def _rows(model, keys, *only):
    """The rows with these primary keys, in their order and some at a time."""
    return _Batched(model._base_manager.only(*only) if only else model._base_manager.all(), keys)


class _Batched:
    """Rows asked for in batches, since a database takes so many keys at once and no more."""

    def __init__(self, rows, keys):
        self._rows, self._keys = rows, sorted(keys)

    def values_list(self, *names):
        return _Batched(self._rows.values_list(*names), self._keys)

    def __iter__(self):
        for start in range(0, len(self._keys), BATCH):
            yield from self._rows.filter(pk__in=self._keys[start : start + BATCH]).order_by("pk")


def _lines(scope, model, chosen, files):
    """Yield the rows as JSON lines; adds {name: (storage, SHA-256)} of their files to `files`."""
    fields, references = scope.fields_of(model), scope.references_of(model)
    loose = loose_reference(model)
    for row in _rows(model, chosen[model]):
        said = {"id": row.pk}
        for field in fields:
            value = field.value_from_object(row)
            if loose and field.name == loose.ct_field:
                said[field.name] = label_of(ContentType.objects.get_for_id(value).model_class())
                continue
            if field.is_relation and not _goes(field, value, references, chosen):
                value = None
            if isinstance(field, models.FileField) and value:
                files[value.name] = (field.storage, getattr(row, sha256_name(field)))
            said[field.name] = told(value)
        yield json.dumps(said, ensure_ascii=False).encode() + b"\n"


def _goes(field, value, references, chosen):
    return field in references and value in chosen[field.related_model]


def _counted(lines, rows, label):
    for line in lines:
        rows[label] += 1
        yield line


def _content(storage, name, sha256):
    """Yield what a file holds; raises Refused where it is gone or not the one on record."""
    digest = hashlib.sha256()
    try:
        with storage.open(name) as file:
            for chunk in chunks_of(file):
                digest.update(chunk)
                yield chunk
    except FileNotFoundError as error:
        raise Refused(
            f"The file '{name}' is on record but is gone; put it back from a backup first."
        ) from error
    if sha256 not in ("", digest.hexdigest()):
        raise Refused(
            f"The file '{name}' is not the one that was stored; put that back from a backup first."
        )
