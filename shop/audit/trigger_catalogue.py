"""The triggers of a database as its own catalogue tells them, on SQLite and PostgreSQL."""

from collections import defaultdict
from dataclasses import dataclass

# How the names of the site's own triggers begin; what bears another name is left alone.
KINDS = ("frozen", "trail", "stir", "closed")

SQLITE_TRIGGERS = "SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger'"
# A trigger that was switched off says so, so that it is not taken for one that works.
POSTGRES_TRIGGERS = """
SELECT c.relname, t.tgname,
  pg_get_triggerdef(t.oid, true) || CASE t.tgenabled WHEN 'O' THEN '' ELSE ' (switched off)' END
FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
WHERE NOT t.tgisinternal AND c.relnamespace = 'public'::regnamespace
"""
POSTGRES_FUNCTIONS = """
SELECT p.proname, pg_get_functiondef(p.oid) FROM pg_proc p
WHERE p.pronamespace = 'public'::regnamespace AND p.prorettype = 'trigger'::regtype
"""


@dataclass(frozen=True)
class Trigger:
    """One trigger as it should be. sql: as the catalogue tells it, spacing aside; calls: the
    function of PostgreSQL that it runs."""

    table: str
    name: str
    sql: str
    calls: str = ""


@dataclass(frozen=True)
class Function:
    """A trigger function of PostgreSQL. sql: as the catalogue tells it, spacing aside."""

    name: str
    sql: str


def function(name, body, *settings):
    """A trigger function in the catalogue's words; `settings` are the clauses before its body."""
    clauses = "".join(f"\n {one}" for one in settings)
    sql = (
        f"CREATE OR REPLACE FUNCTION public.{name}()\n RETURNS trigger\n LANGUAGE plpgsql{clauses}"
        f"\nAS $function$\n{body.strip()}\n$function$"
    )
    return Function(name, sql)


def is_same(wanted, found):
    """Whether two definitions are one, spacing aside."""
    return wanted.split() == found.split()


def triggers_in(connection):
    """{table: {name: its definition}} of the site's own triggers; one query."""
    found = defaultdict(dict)
    sql = SQLITE_TRIGGERS if connection.vendor == "sqlite" else POSTGRES_TRIGGERS
    for table, name, definition in _fetch(connection, sql):
        if name.partition("_")[0] in KINDS:
            found[table][name] = definition
    return found


def functions_in(connection):
    """{name: its definition} of the site's own trigger functions; one query, none on SQLite."""
    if connection.vendor == "sqlite":
        return {}
    found = dict(_fetch(connection, POSTGRES_FUNCTIONS))
    return {name: sql for name, sql in found.items() if name.partition("_")[0] in KINDS}


def lock(connection, tables):
    """Keep everybody else off `tables` until the transaction ends.

    SQLite's transactions hold its one write lock from their beginning.
    """
    if connection.vendor == "postgresql" and tables:
        named = ", ".join(f'"{table}"' for table in sorted(tables))
        run(connection, f"LOCK TABLE {named} IN ACCESS EXCLUSIVE MODE")


def drop(connection, table, name):
    """Drop one trigger, on a locked table."""
    where = f' ON "{table}"' if connection.vendor == "postgresql" else ""
    run(connection, f'DROP TRIGGER "{name}"{where}')


def run(connection, sql):
    with connection.cursor() as cursor:
        cursor.execute(sql)


def _fetch(connection, sql):
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return cursor.fetchall()
