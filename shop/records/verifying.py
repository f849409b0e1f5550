"""Holds chain, trail, rows, what was signed and files against each other, and says what was edited
afterwards.

What it finds out: a change edited or removed in the trail (its link no longer fits), a link edited
or removed, a chained change that is in no link, a row that is not as the trail last said, a file
that is not the one whose SHA-256 is on record. Whoever can rewrite the whole database could make a
new chain as well, or cut its end off: against that stand heads kept elsewhere (`manage.py verify
--head`, and the one printed on each issued document), which the chain is held against.
"""

import hashlib
import zoneinfo

from django.db import connections

from shop.audit.head import START, head
from shop.audit.models import ChainLink, Change
from shop.audit.rows import differences, fetched, file_fields
from shop.audit.sqlite import digest
from shop.audit.tables import trailed
from shop.audit.words import Words

from .signatures import signed_troubles

WHEN = {
    # As the text that is stored: made a moment, it would lose the zeros of a whole second.
    "sqlite": "c.\"at\" || ''",
    "postgresql": "to_char(c.at AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI:SS.US')",
}
LINKS = """
SELECT l.seq, l.sha256, l.change_id, c.id, {when}, c.who_id, c.via, c.request_id, c.record,
  c.within, c.kind, c.before, c.after
FROM shop_chainlink l LEFT JOIN shop_change c ON c.id = l.change_id ORDER BY l.seq
"""
UNLINKED = """
SELECT c.id, c.record FROM shop_change c LEFT JOIN shop_chainlink l ON l.change_id = c.id
WHERE c.chained AND l.seq IS NULL ORDER BY c.id
"""


def verify(kept=()):
    """Yield a sentence for everything that was edited after the fact; none when all is well.

    kept: `Head`s kept elsewhere, which the chain must still contain.
    """
    yield from chain_troubles(kept)
    yield from row_troubles()
    yield from signed_troubles()
    yield from file_troubles()


def chain_troubles(kept=(), using="default"):
    """Walk the chain from its first link to its head."""
    at, sha256 = 0, START
    heads = {one.seq: one for one in kept}
    sql = LINKS.format(when=WHEN[connections[using].vendor])
    for seq, stored, change_id, number, *said in fetched(using, sql):
        if seq != at + 1:
            yield f"The chain: {_links(at + 1, seq - 1)} removed."
        elif number is None:
            yield f"The chain: change {change_id}, which link {seq} stands for, was removed."
        elif digest(sha256, seq, number, *said) != stored:
            yield (
                f"The chain: link {seq} does not fit change {number} ({_named(said[4])}): the "
                "change, this link or the one before was edited."
            )
        if seq in heads and not stored.startswith(heads.pop(seq).sha256):
            yield f"The chain: link {seq} is not the one that was kept elsewhere."
        at, sha256 = seq, stored
    yield from _end_troubles(at, sha256, heads, using)


def _end_troubles(at, sha256, heads, using):
    end = head()
    if end.seq > at:
        yield f"The chain: its end is missing; {_links(at + 1, end.seq)} removed."
    elif (end.seq, end.sha256) != (at, sha256):
        yield f"The chain: it ends at link {at}, but its head says {end.seq}; one was edited."
    for one in heads.values():
        if one.seq:
            yield f"The chain: link {one.seq}, kept elsewhere, is no longer there."
    for number, record in fetched(using, UNLINKED):
        yield f"The chain: change {number} ({_named(record)}) is in no link."


def _links(first, last):
    return f"link {first} was" if first == last else f"links {first} to {last} were"


def row_troubles():
    """Hold every row of every trailed table against what the trail last said of it."""
    words = Words(unit="mm", zone=zoneinfo.ZoneInfo("UTC"))
    for table in trailed().values():
        for one in differences(table):
            yield from _row_trouble(one, words)


def _row_trouble(one, words):
    name = _named(one.record)
    for number in one.broken:
        yield f"{name}: change {number} does not follow from the one before; the trail was edited."
    if one.told == one.found:
        return
    if one.found is None:
        yield f"{name}: the row was removed past the trail."
    elif one.told is None:
        yield f"{name}: the row was put in past the trail."
    else:
        for field, told, found in words.differences(one):
            yield f"{name}: {field} is {found!r}, but the trail last said {told!r}."


def file_troubles():
    """Hold every stored file against its SHA-256 on record, and say which are gone."""
    for table in trailed().values():
        for name, hashed in file_fields(table):
            for record in table.model.objects.exclude(**{name: ""}).order_by("pk").iterator():
                if trouble := _file_trouble(getattr(record, name), getattr(record, hashed)):
                    yield f"{_named(f'{table.table}:{record.pk}')}: {trouble}"


def _file_trouble(file, expected):
    if not file.storage.exists(file.name):
        return f"the file {file.name} is gone."
    if expected and sha256_of(file) != expected:
        return f"the file {file.name} is not the one that was stored; its SHA-256 differs."
    return ""


def sha256_of(file):
    """The SHA-256 of a stored file."""
    with file.storage.open(file.name) as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def _named(record):
    return Words.name_of(record)


def counted():
    """How many changes and links were walked, for the last line of a report."""
    return Change.objects.count(), ChainLink.objects.count()
