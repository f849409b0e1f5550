"""The triggers in PostgreSQL's words.

One function notes the changes of all tables. Who is at work is a setting of the session, announced
before the first statement that may write (`announce`).

The chain is linked when the transaction commits, by whoever holds the lock on its head. By then
every row is written and every foreign key is checked, so the transaction asks for no other lock
after that one and two of them cannot wait for each other. That needs two steps: the first deferred
trigger only puts the change in line, which defers the second to after the foreign keys' own.
"""

from psycopg.pq import TransactionStatus

from .actor import at_work
from .trigger_catalogue import Trigger, function

OWN_RIGHTS = ("SECURITY DEFINER", "SET search_path TO 'public', 'pg_temp'")
UTC = "SET \"TimeZone\" TO 'UTC'"

NOTE_BODY = """
DECLARE
  -- Arguments: the key's column, whether it is chained, the columns left out, and then the
  -- pairs of column and table that say what it is a part of.
  kept_out text[] := string_to_array(TG_ARGV[2], ',');
  old_row jsonb; new_row jsonb; a_row jsonb; part_of text := ''; n int := 3;
BEGIN
  IF TG_OP <> 'INSERT' THEN old_row := to_jsonb(OLD) - kept_out; END IF;
  IF TG_OP <> 'DELETE' THEN new_row := to_jsonb(NEW) - kept_out; END IF;
  IF old_row = new_row THEN RETURN NULL; END IF;
  a_row := coalesce(new_row, old_row);
  WHILE part_of = '' AND n < TG_NARGS LOOP
    IF a_row ->> TG_ARGV[n] IS NOT NULL THEN
      part_of := TG_ARGV[n + 1] || ':' || (a_row ->> TG_ARGV[n]);
    END IF;
    n := n + 2;
  END LOOP;
  IF TG_OP = 'UPDATE' THEN
    SELECT jsonb_object_agg(o.key, o.value), jsonb_object_agg(o.key, new_row -> o.key)
    INTO old_row, new_row
    FROM jsonb_each(old_row) o WHERE o.value IS DISTINCT FROM new_row -> o.key;
  END IF;
  INSERT INTO shop_change
    (at, who_id, via, request_id, record, within, kind, before, after, chained)
  VALUES (clock_timestamp(), nullif(current_setting('sweepbook.who', true), '')::bigint,
    coalesce(nullif(current_setting('sweepbook.via', true), ''),
      CASE WHEN coalesce(current_setting('sweepbook.who', true), '') = ''
           THEN left('database user ' || session_user, 80) ELSE '' END),
    coalesce(current_setting('sweepbook.request_id', true), ''),
    TG_TABLE_NAME || ':' || (a_row ->> TG_ARGV[0]), part_of,
    CASE TG_OP WHEN 'INSERT' THEN 'added' WHEN 'UPDATE' THEN 'changed' ELSE 'removed' END,
    old_row::text, new_row::text, TG_ARGV[1]::boolean);
  RETURN NULL;
END
"""

QUEUE_BODY = """
BEGIN
  INSERT INTO trail_in_line (change_id) VALUES (NEW.id);
  RETURN NULL;
END
"""

LINK_BODY = """
DECLARE
  c shop_change; head shop_chainhead; digest text;
BEGIN
  SELECT * INTO head FROM shop_chainhead WHERE id = 1 FOR UPDATE;
  SELECT * INTO c FROM shop_change WHERE id = NEW.change_id;
  digest := encode(sha256(convert_to(array_to_string(ARRAY[
    head.sha256, (head.seq + 1)::text, c.id::text,
    to_char(c.at AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI:SS.US'), c.who_id::text, c.via,
    c.request_id, c.record, c.within, c.kind, c.before, c.after], E'\\n', ''), 'UTF8')), 'hex');
  INSERT INTO shop_chainlink (seq, change_id, sha256) VALUES (head.seq + 1, c.id, digest);
  UPDATE shop_chainhead SET seq = head.seq + 1, sha256 = digest WHERE id = 1;
  DELETE FROM trail_in_line WHERE change_id = NEW.change_id;
  RETURN NULL;
END
"""

REFUSE_BODY = """
BEGIN
  RAISE EXCEPTION '{message}' USING ERRCODE = 'integrity_constraint_violation';
END
"""

IN_LINE = "CREATE UNLOGGED TABLE IF NOT EXISTS trail_in_line (change_id bigint PRIMARY KEY)"

NOTED = """
CREATE TRIGGER trail_note AFTER INSERT OR DELETE OR UPDATE ON {table}
FOR EACH ROW EXECUTE FUNCTION trail_note({arguments})
"""
EMPTIED = """
CREATE TRIGGER trail_truncate BEFORE TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION trail_refuse()
"""
QUEUED = """
CREATE CONSTRAINT TRIGGER trail_queue AFTER INSERT ON shop_change DEFERRABLE INITIALLY DEFERRED
FOR EACH ROW WHEN (new.chained) EXECUTE FUNCTION trail_queue()
"""
LINKED = """
CREATE CONSTRAINT TRIGGER trail_link AFTER INSERT ON trail_in_line DEFERRABLE INITIALLY DEFERRED
FOR EACH ROW EXECUTE FUNCTION trail_link()
"""
KEEPS = """
CREATE TRIGGER trail_keeps_{event} BEFORE {event_name} ON {table}
FOR EACH ROW {when} EXECUTE FUNCTION trail_refuse()
"""


def triggers(tables, message):
    """Every `Function` and `Trigger` of the trail."""
    yield function("trail_note", NOTE_BODY, *OWN_RIGHTS, UTC)
    yield function("trail_queue", QUEUE_BODY, *OWN_RIGHTS)
    yield function("trail_link", LINK_BODY, *OWN_RIGHTS)
    yield function("trail_refuse", REFUSE_BODY.format(message=message))
    for table in tables:
        sql = NOTED.format(table=table.table, arguments=_arguments(table))
        yield Trigger(table.table, "trail_note", sql, calls="trail_note")
        yield _refusal(table.table, "trail_truncate", EMPTIED)
    for table in ("shop_change", "shop_chainlink", "shop_chainhead"):
        forward = "WHEN (new.seq <> (old.seq + 1))" if table == "shop_chainhead" else ""
        yield _refusal(table, "trail_truncate", EMPTIED)
        for event, when in (("delete", ""), ("update", forward)):
            words = {"event": event, "event_name": event.upper(), "when": when}
            yield _refusal(table, f"trail_keeps_{event}", KEEPS, **words)
    yield Trigger("shop_change", "trail_queue", QUEUED, calls="trail_queue")
    yield Trigger("trail_in_line", "trail_link", LINKED, calls="trail_link")


def _refusal(table, name, sql, **words):
    return Trigger(table, name, sql.format(table=table, **words), calls="trail_refuse")


def _arguments(table):
    parts = [one for pair in table.parts_of for one in pair]
    given = [table.pk_column, str(table.chained).lower(), ",".join(table.left_out), *parts]
    return ", ".join(f"'{one}'" for one in given)


def row_json(table, row):
    """SQL for a row's kept columns as JSON."""
    left_out = f" - '{{{','.join(table.left_out)}}}'::text[]" if table.left_out else ""
    return f"(to_jsonb({row}){left_out})::text"


def register_sql_functions(connection):
    """See to it that a new session is told who is at work; it knows nothing yet."""
    connection.trail_said = (None, False)
    if announce not in connection.execute_wrappers:
        connection.execute_wrappers.append(announce)


def announce(execute, sql, params, many, context):
    """Wrapper of every statement: tell the session who is at work, before it may write.

    A setting made in a transaction is lost when that is rolled back. So what was announced inside
    of one is announced again in the next; what was announced outside stays for the session.
    """
    connection = context["connection"]
    raw = connection.connection
    if raw is not None and raw.info.transaction_status != TransactionStatus.INERROR:
        _announce(connection, raw, sql)
    return execute(sql, params, many, context)


def _announce(connection, raw, sql):
    idle = raw.info.transaction_status == TransactionStatus.IDLE
    if idle and raw.autocommit and str(sql).lstrip()[:6].upper() == "SELECT":
        return
    said, lasting = getattr(connection, "trail_said", (None, False))
    actor = at_work()
    if said == actor and (lasting or not idle):
        return
    with raw.cursor() as cursor:
        cursor.execute(
            "SELECT set_config('sweepbook.who', %s, false), set_config('sweepbook.via', %s, false),"
            " set_config('sweepbook.request_id', %s, false)",
            [str(actor.who or ""), actor.via, actor.request_id],
        )
    connection.trail_said = (actor, idle and raw.autocommit)
