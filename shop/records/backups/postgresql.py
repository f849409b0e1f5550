"""A PostgreSQL database dumped at one snapshot while it is written to, and put back.

The work is done by PostgreSQL's own pg_dump and pg_restore.
"""

import contextlib
import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from shop.web.errors import Refused

ENGINE = "postgresql"
FILE = "database.dump"
DEBIAN = Path("/usr/lib/postgresql")
# Drops all tables, views, sequences and functions of the site; not the schema, which may not be its
# own, nor what extensions put there. Tables go first: their numbers' sequences go with them.
EMPTY = """
DO $$
DECLARE statements text[]; statement text;
BEGIN
  SELECT array_agg(f.statement ORDER BY f.place) INTO statements FROM (
    SELECT CASE c.relkind WHEN 'S' THEN 2 ELSE 1 END AS place, c.oid AS object,
      format('DROP %s IF EXISTS %s.%I CASCADE', CASE c.relkind WHEN 'v' THEN 'VIEW'
        WHEN 'm' THEN 'MATERIALIZED VIEW' WHEN 'S' THEN 'SEQUENCE' ELSE 'TABLE' END,
        c.relnamespace::regnamespace, c.relname) AS statement
    FROM pg_class c
    WHERE c.relnamespace::regnamespace::text = ANY (current_schemas(false))
      AND c.relkind IN ('r', 'p', 'v', 'm', 'S')
    UNION ALL
    SELECT 3, p.oid, format('DROP ROUTINE IF EXISTS %s CASCADE', p.oid::regprocedure)
    FROM pg_proc p WHERE p.pronamespace::regnamespace::text = ANY (current_schemas(false))
  ) f
  WHERE NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = f.object AND d.deptype = 'e');
  FOREACH statement IN ARRAY coalesce(statements, '{}') LOOP
    EXECUTE statement;
  END LOOP;
END $$;
"""


@contextlib.contextmanager
def copied(connection, path):
    """Dump the database as it is at one moment to `path`; yields a cursor that sees that moment."""
    with connection.cursor() as cursor:
        cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        try:
            cursor.execute("SELECT pg_export_snapshot()")
            (snapshot,) = cursor.fetchone()
            _run(
                connection, "pg_dump", "--format=custom", f"--snapshot={snapshot}", f"--file={path}"
            )
            _run(connection, "pg_restore", "--list", str(path))
            yield cursor
        finally:
            cursor.execute("ROLLBACK")


def put_back(connection, path):
    """Make the database what the dump at `path` is, at once or not at all; raises Refused.

    What is in the database goes first, in the same transaction: a newer version of the site may
    have tables that the dump knows nothing of. The transaction is committed only once pg_restore
    has said all it has to say; a psql whose input ends before that takes everything back.
    """
    connection.close()
    environment = _environment(connection)
    with tempfile.TemporaryFile() as said_by_restore, tempfile.TemporaryFile() as said_by_psql:
        psql = subprocess.Popen(
            [_program("psql"), "--no-psqlrc", "--quiet", "--set=ON_ERROR_STOP=1", "--file=-"],
            env=environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=said_by_psql,
        )
        dump = subprocess.Popen(
            [_program("pg_restore"), "--no-owner", "--no-privileges", "--file=-", str(path)],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=said_by_restore,
        )
        with contextlib.suppress(BrokenPipeError):  # psql says why it stopped
            psql.stdin.write(b"BEGIN;" + EMPTY.encode())
            shutil.copyfileobj(dump.stdout, psql.stdin)
            if dump.wait() == 0:
                psql.stdin.write(b"COMMIT;")
        dump.stdout.close()
        with contextlib.suppress(BrokenPipeError):
            psql.stdin.close()
        _demand_done("psql", psql.wait(), said_by_psql)
        _demand_done("pg_restore", dump.wait(), said_by_restore)


def _demand_done(tool, code, said):
    if code:
        said.seek(0)
        raise Refused(f"{tool} failed: {said.read().decode(errors='replace').strip()}")


def columns(cursor):
    """Every (table, column) there is."""
    cursor.execute(
        "SELECT table_name, column_name FROM information_schema.columns c"
        " JOIN information_schema.tables t USING (table_schema, table_name)"
        " WHERE t.table_type = 'BASE TABLE' AND table_schema = ANY (current_schemas(false))"
    )
    return set(cursor.fetchall())


def _run(connection, tool, *arguments):
    """Run one of PostgreSQL's programs against the site's database."""
    done = subprocess.run(
        [_program(tool), *arguments],
        env=_environment(connection),
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise Refused(f"{tool} failed: {done.stderr.strip()}")


def _environment(connection):
    """Where the database is, and its password, which other people on the machine cannot read there,
    as they can a command line."""
    settings = connection.settings_dict
    named = {
        "PGHOST": settings["HOST"],
        "PGPORT": settings["PORT"],
        "PGUSER": settings["USER"],
        "PGPASSWORD": settings["PASSWORD"],
        "PGDATABASE": settings["NAME"],
        "PGSSLMODE": settings.get("OPTIONS", {}).get("sslmode"),
    }
    return {**os.environ, **{name: str(value) for name, value in named.items() if value}}


def _program(tool):
    """Where the newest of PostgreSQL's programs of this name is."""
    versions = sorted(DEBIAN.glob(f"*/bin/{tool}"), key=lambda path: int(path.parts[-3]))
    found = str(versions[-1]) if versions else shutil.which(tool)
    if not found:
        raise Refused(f"{tool} is not installed; on Debian: apt-get install postgresql-client")
    return found
