"""The triggers that count what changes at each shop.

Which shop a row belongs to, its rule for the archive says: what goes with a shop
stirs that shop; people, firms and what else is shared stir all, once they are changed or removed,
since nothing names them before; what stays with the site is looked at anew each time and stirs
nothing.
"""

from django.core.exceptions import FieldDoesNotExist

from shop.audit.archive_rules import whole_shop
from shop.audit.sqlite import differs
from shop.audit.tables import trailed
from shop.audit.trigger_catalogue import Trigger, function
from shop.record import Goes, Named

EVERY_SHOP = "0"

SQLITE = """
CREATE TRIGGER "stir_{table}_{event}_{row}" AFTER {event} ON "{table}" FOR EACH ROW {when}
BEGIN
  UPDATE shop_stir SET times = times + 1 WHERE shop_id = {shop} AND xact = 0;
  INSERT INTO shop_stir (shop_id, xact, times) SELECT s.id, 0, 1 FROM (SELECT {shop} AS id) s
  WHERE s.id IS NOT NULL
    AND NOT EXISTS (SELECT 1 FROM shop_stir WHERE shop_id = s.id AND xact = 0);
END
"""

# A row of its own for each transaction: nobody waits for another's, and none goes uncounted. By
# statement, since a transaction that brings in a whole shop would count up one row without end.
BODY = """
DECLARE
  -- Arguments: SQL for the shop of a row t, and the columns whose change counts for nothing.
  looked_up text := 'SELECT ' || TG_ARGV[0] || ' AS id FROM ';
  rows text;
  unchanged boolean;
BEGIN
  rows := CASE TG_OP
    WHEN 'INSERT' THEN looked_up || 'new_rows t'
    WHEN 'DELETE' THEN looked_up || 'old_rows t'
    ELSE looked_up || 'new_rows t UNION ' || looked_up || 'old_rows t' END;
  IF TG_OP = 'UPDATE' AND TG_ARGV[1] <> '' THEN
    EXECUTE 'SELECT NOT EXISTS (SELECT to_jsonb(n) - $1 FROM new_rows n'
      ' EXCEPT SELECT to_jsonb(o) - $1 FROM old_rows o)'
    INTO unchanged USING string_to_array(TG_ARGV[1], ',');
    IF unchanged THEN RETURN NULL; END IF;
  END IF;
  EXECUTE 'INSERT INTO shop_stir (shop_id, xact, times)'
    ' SELECT DISTINCT s.id, pg_current_xact_id()::text::bigint, 1 FROM (' || rows || ') s'
    ' WHERE s.id IS NOT NULL'
    ' ON CONFLICT (shop_id, xact) DO UPDATE SET times = shop_stir.times + 1';
  RETURN NULL;
END
"""

POSTGRES = """
CREATE TRIGGER stir_{event} AFTER {event_name} ON {table} REFERENCING {rows}
FOR EACH STATEMENT EXECUTE FUNCTION stir('{shop}', '{left_out}')
"""
OLD, NEW = "OLD TABLE AS old_rows", "NEW TABLE AS new_rows"
EVENTS = {"insert": NEW, "update": f"{OLD} {NEW}", "delete": OLD}


def triggers(vendor):
    """Every `Trigger` that counts, on PostgreSQL after the `Function` that they run."""
    if vendor == "postgresql":
        own_rights = ("SECURITY DEFINER", "SET search_path TO 'public', 'pg_temp'")
        yield function("stir", BODY, *own_rights)
    for table, way in stirring().items():
        yield from _counting(vendor, table, way)


def stirring():
    """{`Trailed` table: function (row) -> SQL for the shop it stirs}."""
    rules = whole_shop().rules
    found = {}
    for table in trailed().values():
        way = _way(table.model, rules[table.model])
        if way is not None:
            found[table] = way
    return found


def _way(model, rule):
    if not isinstance(rule, Goes | Named):
        return None
    names = [name for name in (rule.way, getattr(rule, "or_way", "")) if name]
    try:
        ways = [_path(model, name) for name in names]
    except FieldDoesNotExist:
        # It is reached from a shop, not the other way round: a series of numbers.
        return None
    whole = [] if isinstance(rule, Goes) else [EVERY_SHOP]

    def shop_of(row):
        found = [*(way(row) for way in ways), *whole]
        return found[0] if len(found) == 1 else f"coalesce({', '.join(found)})"

    return shop_of


def _path(model, name):
    """Function (row) -> SQL that follows the foreign keys of a lookup to the shop."""
    hops = []
    for part in name.split("__"):
        field = model._meta.pk if part == "pk" else model._meta.get_field(part)
        if not field.concrete:
            raise FieldDoesNotExist(name)
        hops.append((model._meta, field.column))
        model = field.related_model

    def sql(row):
        found = f'{row}."{hops[0][1]}"'
        for meta, column in hops[1:]:
            found = f'(SELECT "{column}" FROM "{meta.db_table}" WHERE "{meta.pk.column}" = {found})'
        return found

    return sql


def _counting(vendor, table, way):
    shared = way("t") == EVERY_SHOP
    counting = _on_postgres if vendor == "postgresql" else _on_sqlite
    for event, trigger in counting(table, way):
        if not (shared and event == "insert"):
            yield trigger


def _on_postgres(table, way):
    """(event, `Trigger`) for a table; what stands between quotes has its own doubled."""
    shop = way("t").replace("'", "''")
    for event, rows in EVENTS.items():
        sql = POSTGRES.format(
            table=table.table,
            event=event,
            event_name=event.upper(),
            rows=rows,
            shop=shop,
            left_out=",".join(table.left_out),
        )
        yield event, Trigger(table.table, f"stir_{event}", sql, calls="stir")


def _on_sqlite(table, way):
    for event, rows, when in (
        ("INSERT", ["NEW"], ""),
        ("UPDATE", ["OLD", "NEW"], f"WHEN {differs(table)}"),
        ("DELETE", ["OLD"], ""),
    ):
        for row in rows:
            words = {"table": table.table, "event": event, "row": row.lower()}
            sql = SQLITE.format(when=when, shop=way(row), **words)
            name = "stir_{table}_{event}_{row}".format(**words)
            yield event.lower(), Trigger(table.table, name, sql)
