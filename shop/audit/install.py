"""What the trail notes besides the triggers' notes: rows it does not know yet, and those that
migrations changed while it was off."""

import json

from django.utils import timezone

from .actor import program
from .head import START
from .rows import WORDS, differences
from .tables import within

MESSAGE = "the trail of changes is only added to"


def register_sql_functions(*, connection, **_signal):
    """Give a new connection what the triggers ask for."""
    WORDS[connection.vendor].register_sql_functions(connection)


def begin_chain(using):
    """Write the head of an empty chain, where there is none."""
    from .models import ChainHead

    ChainHead.objects.using(using).get_or_create(pk=1, defaults={"seq": 0, "sha256": START})


def note_unseen(connection, table, *, migrated):
    """Note what the trail has not seen of a `Trailed` table: all of it when it is new to the trail,
    else, when it was migrated, each row that is not as the trail says."""
    if not _is_known(connection, table):
        _say_as_it_is(connection, table, "found")
    elif migrated:
        _catch_up(connection, table)


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
    from .models import Change

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
