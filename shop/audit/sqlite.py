"""The triggers in SQLite's words.

SQLite knows neither who is connected nor SHA-256, so each connection is given two functions. A
program that writes to the file without them is refused: no change goes unseen. SQLite has one
writer at a time, so the chain is linked where the change is written.
"""

import hashlib

from .actor import at_work
from .tables import within
from .trigger_catalogue import Trigger

NOTE = """
CREATE TRIGGER "trail_{table}_{event}" AFTER {event} ON "{table}" FOR EACH ROW {when}
BEGIN
  INSERT INTO shop_change
    ("at", "who_id", "via", "request_id", "record", "within", "kind", "before", "after", "chained")
  VALUES (strftime('%Y-%m-%d %H:%M:%f000', 'now'), trail_actor('who'), trail_actor('via'),
    trail_actor('request_id'), '{table}:' || {row}."{pk}", {within}, '{kind}', {before}, {after},
    {chained});
END
"""

LINK = """
CREATE TRIGGER trail_link AFTER INSERT ON shop_change FOR EACH ROW WHEN NEW.chained
BEGIN
  INSERT INTO shop_chainlink (seq, change_id, sha256)
  SELECT seq + 1, NEW.id, trail_digest(sha256, seq + 1, NEW.id, NEW."at" || '', NEW.who_id,
    NEW.via, NEW.request_id, NEW.record, NEW.within, NEW.kind, NEW."before", NEW."after")
  FROM shop_chainhead WHERE id = 1;
  UPDATE shop_chainhead SET seq = seq + 1,
    sha256 = (SELECT l.sha256 FROM shop_chainlink l WHERE l.seq = shop_chainhead.seq + 1)
  WHERE id = 1;
END
"""

REFUSE = """
CREATE TRIGGER "trail_{table}_keeps_{event}" BEFORE {event} ON "{table}" FOR EACH ROW {when}
BEGIN SELECT RAISE(ABORT, '{message}'); END
"""


def register_sql_functions(connection):
    """Give a new connection the functions that the triggers call."""
    raw = connection.connection
    raw.create_function("trail_actor", 1, lambda part: getattr(at_work(), part))
    raw.create_function("trail_digest", -1, digest, deterministic=True)


def digest(*parts):
    """The SHA-256 of a link: the link before, its own place, and every field of the change."""
    text = "\n".join("" if part is None else str(part) for part in parts)
    return hashlib.sha256(text.encode()).hexdigest()


def row_json(table, row):
    """SQL for a row's kept columns as JSON; `row` is NEW, OLD or a table's name."""
    pairs = ", ".join(f"'{column}', {row}.\"{column}\"" for column in table.columns)
    return f"json_object({pairs})"


def _changed_json(table, row):
    """SQL for the columns of NEW or OLD in which the two differ."""
    pairs = " UNION ALL ".join(
        f"SELECT '{column}' AS k, {row}.\"{column}\" AS v"
        f' WHERE OLD."{column}" IS NOT NEW."{column}"'
        for column in table.columns
    )
    return f"(SELECT json_group_object(k, v) FROM ({pairs}))"


def differs(table):
    """SQL that is true of an update that changes a kept column."""
    return " OR ".join(f'OLD."{one}" IS NOT NEW."{one}"' for one in table.columns)


def notes(table):
    """The triggers that trail a table."""
    shapes = {
        ("INSERT", "added", "NEW", ""): ("NULL", row_json(table, "NEW")),
        ("UPDATE", "changed", "NEW", f"WHEN {differs(table)}"): (
            _changed_json(table, "OLD"),
            _changed_json(table, "NEW"),
        ),
        ("DELETE", "removed", "OLD", ""): (row_json(table, "OLD"), "NULL"),
    }
    for (event, kind, row, when), (before, after) in shapes.items():
        sql = NOTE.format(
            table=table.table,
            event=event,
            when=when,
            row=row,
            pk=table.pk_column,
            within=within(table, row),
            kind=kind,
            before=before,
            after=after,
            chained=int(table.chained),
        )
        yield Trigger(table.table, f"trail_{table.table}_{event}", sql)


def keeps(message):
    """The triggers that make trail and chain append-only, and the head only go forward."""
    refused = [
        (table, event, "")
        for table in ("shop_change", "shop_chainlink")
        for event in ("UPDATE", "DELETE")
    ]
    refused += [
        ("shop_chainhead", "DELETE", ""),
        ("shop_chainhead", "UPDATE", "WHEN NEW.seq <> OLD.seq + 1"),
    ]
    for table, event, when in refused:
        sql = REFUSE.format(table=table, event=event, when=when, message=message)
        yield Trigger(table, f"trail_{table}_keeps_{event}", sql)


def triggers(tables, message):
    """Every `Trigger` of the trail."""
    for table in tables:
        yield from notes(table)
    yield from keeps(message)
    yield Trigger("shop_change", "trail_link", LINK)
