"""Database triggers that refuse any change to what was signed.

The services refuse first, with a sentence for the person; these refuse whatever gets past them:
the admin site, a shell, another program. Both databases are taught the same rule.

What is frozen when is declared beside the models (`shop.record`); `shop.records.triggers` puts it
on.
"""

from dataclasses import dataclass

from shop.record import Frozen, our_models, rules_of

from .trigger_catalogue import Trigger, function

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
    """One table's rule. table: the database table."""

    table: str
    rule: Frozen

    def events(self):
        """Yield (suffix, event, condition), one for each trigger."""
        of_columns = f" OF {', '.join(self.rule.columns)}" if self.rule.columns else ""
        old, new = (self.rule.signed_when.format(row=row) for row in ("OLD", "NEW"))
        yield "delete", "DELETE", old
        both = f"({old}) OR ({new})" if self.rule.inserts else old
        changed = " OR ".join(map(self._changed, self.rule.columns))
        yield "update", f"UPDATE{of_columns}", f"({both}) AND ({changed})" if changed else both
        if self.rule.inserts:
            yield "insert", "INSERT", new

    def _changed(self, column):
        """SQL, alike on both databases, that is true where a column gets another value that it
        may not."""
        was, is_now = f"OLD.{column}", f"NEW.{column}"
        other = f"({was} <> {is_now} OR ({was} IS NULL) <> ({is_now} IS NULL))"
        allowed = self.rule.but.get(column)
        return f"({other} AND NOT ({allowed}))" if allowed else other

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


def rules():
    """The `Freeze` of every table that says when it is frozen."""
    return [
        Freeze(model._meta.db_table, rules_of(model).frozen)
        for model in our_models()
        if rules_of(model).frozen is not None
    ]
