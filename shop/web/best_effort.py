"""What a page that only reads would like to write down, and does without when it cannot.

A reader never waits long for whoever writes, and never fails because the disk is full.
"""

import contextlib
import logging

from django.db import InternalError, OperationalError, connection

SOON_MS = 250
# No lock within that time, a disk that is full or broken, a database that only takes questions.
CANNOT_WRITE = (OperationalError, InternalError, OSError)
logger = logging.getLogger("sweepbook.writing")


def if_it_can(write):
    """Do `write()` without waiting long for others; returns whether it could be done."""
    try:
        with _giving_up_soon():
            write()
    except CANNOT_WRITE as error:
        logger.warning("a page went on without writing: %s", error)
        return False
    return True


@contextlib.contextmanager
def _giving_up_soon():
    """Inside, who waits for a lock gives up after a moment."""
    if connection.vendor == "postgresql":
        soon, again = f"SET lock_timeout = {SOON_MS}", "RESET lock_timeout"
    else:
        usual_ms = int(connection.settings_dict["OPTIONS"].get("timeout", 5) * 1000)
        soon = f"PRAGMA busy_timeout = {SOON_MS}"
        again = f"PRAGMA busy_timeout = {usual_ms}"
    _say(soon)
    try:
        yield
    finally:
        # Whatever broke the connection is told by the first error, not by this.
        with contextlib.suppress(*CANNOT_WRITE):
            _say(again)


def _say(statement):
    """Straight to the database: it is no question of the page's."""
    connection.ensure_connection()
    with connection.wrap_database_errors:
        connection.connection.execute(statement)
