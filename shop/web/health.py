"""Whether the site can do its work, for the server's watchman."""

import functools
import tempfile

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.http import JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@functools.cache
def _expected():
    """What this version of the site asks of its database; read from the disk once."""
    return set(MigrationLoader(None).disk_migrations)


@login_not_required
@never_cache
@require_safe
def healthz(request):
    """200 when all is well, else 503; says which of the three is not, and nothing else."""
    found = {"database": False, "migrations": False, "media": _media_takes_a_file()}
    try:
        found["migrations"] = _migrations_are_applied()
        found["database"] = True
    except DatabaseError:
        # What is wrong stands in the database's own log; whoever asks here needs no more.
        pass
    return JsonResponse(found, status=200 if all(found.values()) else 503)


def _migrations_are_applied():
    """One query, which shows that the database answers, too."""
    table = MigrationRecorder.Migration._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT app, name FROM {table}")
        return set(cursor.fetchall()) >= _expected()


def _media_takes_a_file():
    try:
        with tempfile.TemporaryFile(dir=settings.MEDIA_ROOT) as file:
            file.write(b"x")
    except OSError:
        return False
    return True
