"""What the trail last said of each row, held against the row as it is."""

import json
from dataclasses import dataclass, field

from django.db import connections, models

from shop.web.hashed_images import sha256_name

from . import postgres, sqlite

WORDS = {"sqlite": sqlite, "postgresql": postgres}
AT_A_TIME = 2000


@dataclass
class Told:
    """A row as the trail tells it. values: by column, None once it was removed; broken: the
    numbers of changes that do not follow from the one before."""

    values: dict | None = None
    broken: list[int] = field(default_factory=list)


@dataclass(frozen=True)
class Difference:
    """A row that is not as the trail says. told and found: values by column, None where there is
    no row, or the trail knows of none; broken: as in `Told`."""

    record: str
    told: dict | None
    found: dict | None
    broken: tuple[int, ...] = ()


def differences(table, using="default"):
    """Yield a `Difference` for each row of a trailed table that is not as the trail says.

    Holds one table's trail in memory; runs two queries.
    """
    told = told_by_trail(table, using)
    for pk, found in rows_of(table, using):
        of_row = told.pop(f"{table.table}:{pk}", Told())
        if of_row.values != found or of_row.broken:
            yield Difference(f"{table.table}:{pk}", of_row.values, found, tuple(of_row.broken))
    for record, of_row in told.items():
        if of_row.values is not None or of_row.broken:
            yield Difference(record, of_row.values, None, tuple(of_row.broken))


def told_by_trail(table, using="default"):
    """{record: `Told`} of every row that the trail knows of."""
    told = {}
    sql = (
        "SELECT id, record, kind, before, after FROM shop_change"
        " WHERE record >= %s AND record < %s ORDER BY record, id"
    )
    for number, record, kind, before, after in fetched(
        using, sql, [f"{table.table}:", f"{table.table};"]
    ):
        _follow(told.setdefault(record, Told()), number, kind, read(before), read(after))
    return told


def _follow(told, number, kind, before, after):
    """Take in one more change; note it where it does not follow from what was told."""
    if kind in ("found", "migrated"):
        told.values = after
        return
    known = told.values
    expected = None if kind == "added" else {} if known is None else known
    follows = known is None if expected is None else before.items() <= expected.items()
    if not follows or (kind == "removed" and before != known):
        told.broken.append(number)
    told.values = None if kind == "removed" else {**(known or {}), **(after or {})}


def rows_of(table, using="default"):
    """Yield (primary key, values by column) of each row as it is."""
    words = WORDS[connections[using].vendor]
    quoted = f'"{table.table}"'
    sql = f'SELECT "{table.pk_column}", {words.row_json(table, "t")} FROM {quoted} t'
    for pk, values in fetched(using, sql):
        yield pk, read(values)


def fetched(using, sql, params=()):
    """The rows of a query, some at a time; on PostgreSQL through a cursor of the server."""
    connection = connections[using]
    with connection.chunked_cursor() as cursor:
        cursor.execute(sql, list(params))
        while rows := cursor.fetchmany(AT_A_TIME):
            yield from rows


def read(text):
    """A JSON object with its numbers as they are written; None stays None."""
    return None if text is None else json.loads(text, parse_float=str)


def file_fields(table):
    """(field that holds files, field that holds their SHA-256) of a table, by name."""
    return [
        (one.name, sha256_name(one))
        for one in table.model._meta.concrete_fields
        if isinstance(one, models.FileField)
    ]
