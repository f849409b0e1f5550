"""A PostgreSQL database dumped at one snapshot while it is written to, and put back.

The work is done by PostgreSQL's own pg_dump and pg_restore.
"""

import contextlib
import os
import shutil
import subprocess
from pathlib import Path

from shop.errors import Refused

ENGINE = "postgresql"
FILE = "database.dump"
DEBIAN = Path("/usr/lib/postgresql")


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
    """Make the database what the dump at `path` is, at once or not at all; raises Refused."""
    connection.close()
    _run(
        connection,
        "pg_restore",
        "--single-transaction",
        "--clean",
        "--if-exists",
        "--no-owner",
        "--no-privileges",
        f"--dbname={connection.settings_dict['NAME']}",
        str(path),
    )


def columns(cursor):
    """Every (table, column) there is."""
    cursor.execute(
        "SELECT table_name, column_name FROM information_schema.columns c"
        " JOIN information_schema.tables t USING (table_schema, table_name)"
        " WHERE t.table_type = 'BASE TABLE' AND table_schema = ANY (current_schemas(false))"
    )
    return set(cursor.fetchall())


def _run(connection, tool, *arguments):
    """Run one of PostgreSQL's programs against the site's database.

    Where the database is and its password go by the environment, which other people on the machine
    cannot read, as they can a command line.
    """
    settings = connection.settings_dict
    named = {
        "PGHOST": settings["HOST"],
        "PGPORT": settings["PORT"],
        "PGUSER": settings["USER"],
        "PGPASSWORD": settings["PASSWORD"],
        "PGDATABASE": settings["NAME"],
        "PGSSLMODE": settings.get("OPTIONS", {}).get("sslmode"),
    }
    environment = {name: str(value) for name, value in named.items() if value}
    done = subprocess.run(
        [_program(tool), *arguments],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise Refused(f"{tool} failed: {done.stderr.strip()}")


def _program(tool):
    """Where the newest of PostgreSQL's programs of this name is."""
    versions = sorted(DEBIAN.glob(f"*/bin/{tool}"), key=lambda path: int(path.parts[-3]))
    found = str(versions[-1]) if versions else shutil.which(tool)
    if not found:
        raise Refused(f"{tool} is not installed; on Debian: apt-get install postgresql-client")
    return found
