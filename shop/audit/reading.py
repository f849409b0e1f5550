"""Which changes belong to a record: its own, its parts' and their parts'."""

from django.db.models import Q

from .models import Change
from .tables import key_of, trailed


def changes_of(record, user=None):
    """The changes of a record and of its parts, newest first; of parts only those that the
    person may see. One query, and one more where a part has parts of its own."""
    key, table = key_of(record), record._meta.db_table
    parts = parts_of(table)
    hidden = [
        part.table
        for part in parts
        if part.seen_by is not None and user is not None and not part.seen_by(user, record)
    ]
    holders = [part.table for part in parts if parts_of(part.table)]
    found = Q(record=key) | Q(within=key)
    if holders:
        of_holders = [Q(record__startswith=f"{holder}:") for holder in holders]
        inner = Change.objects.filter(_any(of_holders), within=key).values_list("record")
        found |= Q(within__in=[one for (one,) in inner.distinct().order_by()])
    changes = Change.objects.filter(found)
    for one in hidden:
        changes = changes.exclude(record__startswith=f"{one}:")
    return changes.select_related("who").order_by("-pk")


def parts_of(table):
    """The `Trailed` tables whose rows may be parts of this table's."""
    return [one for one in trailed().values() if table in {whole for _, whole in one.parts_of}]


def _any(conditions):
    joined = Q()
    for condition in conditions:
        joined |= condition
    return joined
