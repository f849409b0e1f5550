"""Keeps tables safe while migrations change them.

A migration has to get past the triggers: it fills new columns of what was signed, and SQLite makes
a table anew to alter it. So the first statement of a migration that writes to a table takes that
table's triggers off, under a lock, in the migration's own transaction. Before this ends the table
is closed: a trigger that names no column refuses every write, until `create_triggers` has put the
table's own on again and the trail has noted what the migration did. Where a migration fails after
others, the tables stay closed until `migrate` has run to its end.

A migration that is not atomic is not let past the triggers.
"""

import contextlib
import re
import sys

from django.db import connections

from shop.audit.trigger_catalogue import drop, function, lock, run, triggers_in
from shop.record import our_apps

MESSAGE = "this table is being migrated; try again when that is done"

# The table that a statement writes to or alters, also where it is said further on.
TARGET = re.compile(
    r"\b(?:INTO|UPDATE|DELETE\s+FROM|TABLE|RENAME\s+TO)\s+"
    r'(?:IF\s+(?:NOT\s+)?EXISTS\s+)?(?:ONLY\s+)?"?(\w+)',
    re.IGNORECASE,
)
ALTERS = re.compile(r"\s*(?:ALTER|DROP|CREATE)\b", re.IGNORECASE)

SQLITE_CLOSED = """
CREATE TRIGGER "closed_{table}_{event}" BEFORE {event} ON "{table}" FOR EACH ROW
BEGIN SELECT RAISE(ABORT, '{message}'); END
"""
POSTGRES_CLOSED = """
CREATE TRIGGER closed BEFORE INSERT OR DELETE OR UPDATE OR TRUNCATE ON "{table}"
FOR EACH STATEMENT EXECUTE FUNCTION closed_table()
"""
BODY = f"""
BEGIN
  RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation';
END
"""


def guard_migrations(*, using, **_signal):
    """Let the migrations that are about to run close what they change."""
    connection = connections[using]
    connection.SchemaEditorClass = _guarded(type(connection).SchemaEditorClass)


def unguard_migrations(*, using, **_signal):
    """Let the connection alter tables as before."""
    connections[using].__dict__.pop("SchemaEditorClass", None)


@contextlib.contextmanager
def closing_tables(connection):
    """Inside, statements get past the triggers of the tables they write to; these are closed after.

    Asks for an open transaction, in which all of it stays.
    """
    guard = Guard(connection)
    with connection.execute_wrapper(guard):
        yield
    guard.close()


class Guard:
    """Wrapper of the statements of one migration; notes the tables to be closed."""

    def __init__(self, connection):
        self._connection = connection
        self._written, self._altered, self._to_close = set(), set(), set()

    def __call__(self, execute, sql, params, many, context):
        text = str(sql)
        for table in TARGET.findall(text):
            self._open(table, alters=ALTERS.match(text) is not None)
        return execute(sql, params, many, context)

    def _open(self, table, *, alters):
        """Take off what stands in the way of a statement about `table`, once."""
        done = self._altered if alters else self._written | self._altered
        if table in done or table.partition("_")[0] not in our_apps():
            return
        (self._altered if alters else self._written).add(table)
        found = triggers_in(self._connection)
        tables = {table, *_mentioning(found, table)} if self._is_sqlite and alters else {table}
        lock(self._connection, tables & found.keys())
        for one in tables:
            for name in found[one]:
                drop(self._connection, one, name)
        self._to_close |= tables

    @property
    def _is_sqlite(self):
        return self._connection.vendor == "sqlite"

    def close(self):
        """Refuse all writes to the tables that were opened and are there."""
        tables = self._to_close & set(self._connection.introspection.table_names())
        if not self._is_sqlite and tables:
            run(self._connection, function("closed_table", BODY).sql)
        for table in sorted(tables):
            for sql in self._closing(table):
                run(self._connection, sql)

    def _closing(self, table):
        if not self._is_sqlite:
            return [POSTGRES_CLOSED.format(table=table)]
        events = ("INSERT", "UPDATE", "DELETE")
        return [SQLITE_CLOSED.format(table=table, event=one, message=MESSAGE) for one in events]


def _mentioning(found, table):
    """The tables with a trigger that names `table`: SQLite alters nothing that one names."""
    name = re.compile(rf"\b{table}\b")
    return {on for on, triggers in found.items() if any(map(name.search, triggers.values()))}


def _guarded(editor):
    """The schema editor of a database, with each migration's transaction guarded."""

    class GuardedEditor(editor):
        def __enter__(self):
            super().__enter__()
            self._closing = contextlib.ExitStack()
            if self.atomic_migration:
                self._closing.enter_context(closing_tables(self.connection))
            return self

        def __exit__(self, *raised):
            try:
                if raised[0] is None:
                    self._run_deferred()
                self._closing.__exit__(*raised)
            except BaseException:
                super().__exit__(*sys.exc_info())
                raise
            super().__exit__(*raised)

        def _run_deferred(self):
            waiting, self.deferred_sql = self.deferred_sql, []
            for sql in waiting:
                self.execute(sql, None)

    return GuardedEditor
