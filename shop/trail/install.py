"""Puts the trail on after migrations, and takes it off before them.

SQLite rebuilds a table to alter it, which loses its triggers; and a trigger that names a column
stands in the way of changing it. What migrations themselves change is compared afterwards with what
the trail last said, and noted.
"""

import json

from django.db import connections, transaction
from django.utils import timezone

from .actor import program
from .head import START
from .rows import WORDS, differences
from .tables import trailed, within

MESSAGE = "the trail of changes is only added to"


def teach(*, connection, **_signal):
    """Give a new connection what the triggers ask for."""
    WORDS[connection.vendor].teach(connection)


def take_off(*, using, **_signal):
    """Take the trail off before migrations run, or a test's tables are emptied."""
    connection = connections[using]
    with transaction.atomic(using=using), connection.cursor() as cursor:
        WORDS[connection.vendor].take_off(cursor)


def put_on(*, using, plan=(), **_signal):
    """Put the trail on the tables there are; note what it does not know yet."""
    connection = connections[using]
    tables = set(connection.introspection.table_names())
    if "shop_chainhead" not in tables:
        return
    words = WORDS[connection.vendor]
    present = [table for table in trailed().values() if table.table in tables]
    with transaction.atomic(using=using):
        with connection.cursor() as cursor:
            words.take_off(cursor)
            for statement in words.statements(present, MESSAGE):
                cursor.execute(statement)
        _begin_chain(using)
        for table in present:
            if not _is_known(connection, table):
                _say_as_it_is(connection, table, "found")
            elif plan:
                _catch_up(connection, table)


def _begin_chain(using):
    """The head of an empty chain, where there is none."""
    from shop.models import ChainHead

    ChainHead.objects.using(using).get_or_create(pk=1, defaults={"seq": 0, "sha256": START})


def _is_known(connection, table):
    """Whether the trail says anything of a table."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT 1 FROM shop_change WHERE record >= %s AND record < %s LIMIT 1",
            [f"{table.table}:", f"{table.table};"],
        )
        return cursor.fetchone() is not None


AS_IT_IS = """
INSERT INTO shop_change
  (at, who_id, via, request_id, record, within, kind, before, after, chained)
SELECT %s, NULL, %s, '', '{table}:' || t."{pk}", {within}, '{kind}', NULL, {row}, {chained}
FROM "{table}" t {where} ORDER BY t."{pk}"
"""


def _say_as_it_is(connection, table, kind, where="", params=()):
    """Say on the trail what the rows of a table are."""
    now = connection.ops.adapt_datetimefield_value(timezone.now())
    sql = AS_IT_IS.format(
        table=table.table,
        pk=table.pk_column,
        within=within(table, "t"),
        kind=kind,
        row=WORDS[connection.vendor].row_json(table, "t"),
        chained="true" if table.chained else "false",
        where=where,
    )
    with connection.cursor() as cursor:
        cursor.execute(sql, [now, program(), *params])


def _catch_up(connection, table):
    """Note what migrations changed in a table while the trail was off."""
    from shop.models import Change

    for one in list(differences(table, connection.alias)):
        if one.told == one.found:
            continue
        if one.found is not None:
            key = one.record.rsplit(":", 1)[1]
            _say_as_it_is(connection, table, "migrated", f'WHERE t."{table.pk_column}" = %s', [key])
            continue
        Change.objects.using(connection.alias).create(
            at=timezone.now(),
            via=program(),
            record=one.record,
            kind=Change.Kind.MIGRATED,
            before=json.dumps(one.told),
            chained=table.chained,
        )
