"""A transaction in which all is as it was at one moment, and which keeps nobody from writing."""

import contextlib

from django.db import connection, transaction
from psycopg import IsolationLevel


@contextlib.contextmanager
def one_moment():
    """A transaction for reading much: it sees one moment throughout and asks for no write lock.

    How a transaction sees is said as it begins: by then the trail has told the session who is at
    work, and after a first statement PostgreSQL takes no level any more. Inside a transaction
    that is open already it sees what that one sees.
    """
    if connection.in_atomic_block:
        yield
        return
    connection.close_if_health_check_failed()
    connection.ensure_connection()
    with _seeing_one_moment(), transaction.atomic():
        yield


@contextlib.contextmanager
def _seeing_one_moment():
    if connection.vendor == "postgresql":
        held, name, seen = connection.connection, "isolation_level", IsolationLevel.REPEATABLE_READ
    else:
        # A deferred transaction of SQLite in WAL mode sees one moment from its first question on.
        held, name, seen = connection, "transaction_mode", "DEFERRED"
    before = getattr(held, name)
    setattr(held, name, seen)
    try:
        yield
    finally:
        if not getattr(held, "closed", False):
            setattr(held, name, before)
