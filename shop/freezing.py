"""Database triggers that refuse any change to what was signed.

The services refuse first, with a sentence for the person; these refuse whatever gets past them:
the admin site, a shell, another program. Both databases are taught the same rule.

The rules stand in each app's `frozen.py`, gathered by `FROZEN` in settings. They are taken off
before migrations run and put back after, because SQLite rebuilds a table to alter it, which loses
the table's triggers and trips over those of other tables.
"""

from dataclasses import dataclass

from django.conf import settings
from django.db import connections, transaction
from django.utils.module_loading import import_string

MESSAGE = "signed records do not change; enter a correction instead"

SQLITE_TRIGGER = """
CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW
WHEN {condition}
BEGIN SELECT RAISE(ABORT, '{message}'); END
"""

POSTGRES_TRIGGER = """
CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()
"""

# PostgreSQL allows no subquery in WHEN, so the question sits in a function of its own.
POSTGRES_FUNCTION = """
CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF {condition} THEN
    RAISE EXCEPTION '{message}' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
  RETURN NEW;
END $$
"""

STATEMENTS = {
    "sqlite": [SQLITE_TRIGGER],
    "postgresql": [POSTGRES_FUNCTION, POSTGRES_TRIGGER],
}


@dataclass(frozen=True)
class Freeze:
    """One table's rule.

    table: the database table.
    signed_when: SQL that is true of a row which was signed; `{row}` stands for OLD or NEW.
    columns: the columns that may not change; empty means all of them.
    inserts: whether adding a row to something signed is refused too; the row that becomes signed
        by an update is always let through when this is False.
    """

    table: str
    signed_when: str
    columns: tuple[str, ...] = ()
    inserts: bool = True

    def events(self):
        """Yield (suffix, event, condition), one for each trigger."""
        of_columns = f" OF {', '.join(self.columns)}" if self.columns else ""
        old, new = (self.signed_when.format(row=row) for row in ("OLD", "NEW"))
        yield "delete", "DELETE", old
        both = f"({old}) OR ({new})" if self.inserts else old
        yield "update", f"UPDATE{of_columns}", both
        if self.inserts:
            yield "insert", "INSERT", new

    def create(self, connection):
        """Put the triggers on; the table must exist."""
        with connection.cursor() as cursor:
            for suffix, event, condition in self.events():
                parts = {"name": f"frozen_{self.table}_{suffix}", "event": event}
                for statement in STATEMENTS[connection.vendor]:
                    cursor.execute(
                        statement.format(
                            condition=condition, table=self.table, message=MESSAGE, **parts
                        )
                    )

    def drop(self, connection):
        """Take the triggers off, where they are."""
        with connection.cursor() as cursor:
            for suffix, _event, _condition in self.events():
                name = f"frozen_{self.table}_{suffix}"
                if connection.vendor == "sqlite":
                    cursor.execute(f"DROP TRIGGER IF EXISTS {name}")
                else:
                    cursor.execute(f"DROP FUNCTION IF EXISTS {name}() CASCADE")


def visit_signed(visit_id):
    """SQL that is true when the visit that `visit_id` (SQL with `{row}`) names was signed."""
    return f"EXISTS (SELECT 1 FROM shop_visit v WHERE v.id = {visit_id} AND v.state = 'signed')"


def rules():
    """Every app's rules, in the order of `FROZEN`."""
    return [rule for path in settings.FROZEN for rule in import_string(path)]


def thaw(*, using, **_signal):
    """Take all triggers off before migrations run."""
    with transaction.atomic(using=using):
        for rule in rules():
            rule.drop(connections[using])


def freeze(*, using, **_signal):
    """Put all triggers on after migrations ran, on the tables there are by then."""
    connection = connections[using]
    tables = set(connection.introspection.table_names())
    with transaction.atomic(using=using):
        for rule in rules():
            rule.drop(connection)
            if rule.table in tables:
                rule.create(connection)
