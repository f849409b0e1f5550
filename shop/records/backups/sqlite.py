"""An SQLite database copied while it is written to, and put back."""

import contextlib
import sqlite3

from shop.web.errors import Refused

ENGINE = "sqlite"
FILE = "database.sqlite3"


@contextlib.contextmanager
def copied(connection, path):
    """Copy the database as it is at one moment to `path`; yields a cursor on the copy."""
    connection.ensure_connection()
    copy = sqlite3.connect(path)
    try:
        connection.connection.backup(copy)
        # A copy is one file, without a log beside it.
        copy.execute("PRAGMA journal_mode=DELETE")
        _demand_sound(copy)
        yield copy.cursor()
    finally:
        copy.close()


def put_back(connection, path):
    """Make the database what the copy at `path` is, at once or not at all; raises Refused."""
    copy = sqlite3.connect(path)
    try:
        _demand_sound(copy)
        connection.ensure_connection()
        copy.backup(connection.connection)
    finally:
        copy.close()
    connection.close()


def _demand_sound(copy):
    try:
        (found,) = copy.execute("PRAGMA integrity_check(1)").fetchone()
        broken = copy.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.DatabaseError as error:
        raise Refused(f"The copy is no sound database: {error}.") from error
    if found != "ok" or broken:
        raise Refused(f"The copy is no sound database: {broken or found}.")


def columns(cursor):
    """Every (table, column) there is."""
    cursor.execute(
        "SELECT t.name, c.name FROM sqlite_master t, pragma_table_info(t.name) c"
        " WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite!_%' ESCAPE '!'"
    )
    return set(cursor.fetchall())
