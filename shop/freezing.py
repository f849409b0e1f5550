"""Database triggers that refuse any change to what was signed.

The services refuse first, with a sentence for the person; these refuse whatever gets past them:
the admin site, a shell, another program. Both databases are taught the same rule.

The rules stand in each app's `frozen.py`, gathered by `FROZEN` in settings; `shop.triggers` puts
them on.
"""

from dataclasses import dataclass

from django.conf import settings
from django.utils.module_loading import import_string

from .triggers.catalogue import Trigger, function

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
POSTGRES_BODY = """
BEGIN
  IF {condition} THEN
    RAISE EXCEPTION '{message}' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
  RETURN NEW;
END
"""


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

    def triggers(self, vendor):
        """Yield the `Trigger`s, on PostgreSQL each after the `Function` that it runs."""
        for suffix, event, condition in self.events():
            name = f"frozen_{self.table}_{suffix}"
            words = {"name": name, "event": event, "table": self.table}
            if vendor == "sqlite":
                sql = SQLITE_TRIGGER.format(condition=condition, message=MESSAGE, **words)
                yield Trigger(self.table, name, sql)
            else:
                yield function(name, POSTGRES_BODY.format(condition=condition, message=MESSAGE))
                yield Trigger(self.table, name, POSTGRES_TRIGGER.format(**words), calls=name)


def visit_signed(visit_id):
    """SQL that is true when the visit that `visit_id` (SQL with `{row}`) names was signed."""
    return f"EXISTS (SELECT 1 FROM shop_visit v WHERE v.id = {visit_id} AND v.state = 'signed')"


def rules():
    """Every app's rules, in the order of `FROZEN`."""
    return [rule for path in settings.FROZEN for rule in import_string(path)]
