"""What a signature stands for: each record as it was, by the digest of what it said.

A source is a function of a visit that yields (name, record, rows that belong to it);
`SIGNED_RECORDS` in settings lists them.
"""

import hashlib
import json

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.utils.module_loading import import_string

from .models import SignedRecord
from .wording import time_text

NAME_LENGTH = 200


def digest_of(record, rows=()):
    """SHA-256 over every field of a record and of the rows that belong to it."""
    said = [_fields(one) for one in (record, *rows)]
    text = json.dumps(said, cls=DjangoJSONEncoder, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _fields(record):
    """Every stored field by name; files by the name they are stored under."""
    fields = {field.attname: field.value_from_object(record) for field in record._meta.fields}
    values = {
        name: value if not hasattr(value, "storage") else value.name
        for name, value in fields.items()
    }
    return {"table": record._meta.db_table, **values}


def list_signed_records(visit):
    """Write down what is being signed; call it in the transaction that signs."""
    found = [one for path in settings.SIGNED_RECORDS for one in import_string(path)(visit)]
    SignedRecord.objects.bulk_create(
        SignedRecord(
            visit=visit, position=position, name=name[:NAME_LENGTH], digest=digest_of(record, rows)
        )
        for position, (name, record, rows) in enumerate(found, start=1)
    )


def times(visit):
    """The stretches of time of the visit; one query."""
    for spell in visit.spells.select_related("who"):
        since = time_text(spell.began_at, visit.shop.zone)
        yield f"Time: {spell.get_kind_display()} of {spell.who.name} from {since}", spell, ()
