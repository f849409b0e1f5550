"""Puts the trail on after migrations, and takes it off before them.

SQLite rebuilds a table to alter it, which loses its triggers; and a trigger that names a column
stands in the way of changing it. What migrations themselves change is compared afterwards with what
the trail last said, and noted.
"""

from django.db import connections

from . import postgres, sqlite
from .tables import trailed

MESSAGE = "the trail of changes is only added to"
WORDS = {"sqlite": sqlite, "postgresql": postgres}
START = "0" * 64


def teach(*, connection, **_signal):
    """Give a new connection what the triggers ask for."""
    if connection.vendor == "sqlite":
        sqlite.teach(connection)
    elif postgres.announce not in connection.execute_wrappers:
        connection.execute_wrappers.append(postgres.announce)
        connection.trail_said = (None, False)


def take_off(*, using, **_signal):
    """Take the trail off before migrations run, or a test's tables are emptied."""
    connection = connections[using]
    with connection.cursor() as cursor:
        WORDS[connection.vendor].take_off(cursor)


def put_on(*, using, plan=(), **_signal):
    """Put the trail on the tables there are; note what it does not know yet."""
    connection = connections[using]
    tables = set(connection.introspection.table_names())
    if "shop_chainhead" not in tables:
        return
    words = WORDS[connection.vendor]
    present = [table for table in trailed().values() if table.table in tables]
    with connection.cursor() as cursor:
        words.take_off(cursor)
        for statement in words.statements(present, MESSAGE):
            cursor.execute(statement)
    begin_chain(using)


def begin_chain(using):
    """The head of an empty chain, where there is none."""
    from shop.models import ChainHead

    ChainHead.objects.using(using).get_or_create(pk=1, defaults={"seq": 0, "sha256": START})
