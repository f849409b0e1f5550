"""Putting a backup back: all of it or nothing, and never over a site that is in use unasked."""

import tempfile
from pathlib import Path

from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import OperationalError, ProgrammingError, connection
from django.db.migrations.loader import MigrationLoader

from shop.people.models import Shop, User
from shop.snapshots.keeping import forget
from shop.web.errors import Refused

from .making import MEDIA, engine_of, media_in, open_backup, rows_in


def restore(path, *, replace=False):
    """Make this site what the backup at `path` is; raises Refused and leaves all as it was.

    Everybody signs in again afterwards: a sign-in that was ended since must not come back.
    replace: whether a site that holds something may be overwritten; its media are kept beside.
    Returns the folder they were put in, None when there were none.
    """
    if not replace and not _is_empty():
        raise Refused(
            "This site holds records or files already. Restore into an empty one, or say "
            "--replace to give up all that is in this one."
        )
    media = Path(settings.MEDIA_ROOT)
    with (
        open_backup(path) as package,
        tempfile.TemporaryDirectory(dir=media, prefix=".restoring-") as folder,
    ):
        scratch = Path(folder)
        _demand_fitting(package.facts)
        database = _unpack(package, scratch)
        engine_of(connection).put_back(connection, database)
        _demand_same_rows(package.facts["rows"])
        set_aside = _swap(media, scratch / MEDIA)
    call_command("migrate", verbosity=0, interactive=False)
    forget()
    Session.objects.all().delete()
    return set_aside


def _is_empty():
    """Whether nobody is known here and no file is kept; a database without tables is empty."""
    try:
        if User.objects.exists() or Shop.objects.exists():
            return False
    except (OperationalError, ProgrammingError):
        pass
    return not any(media_in(Path(settings.MEDIA_ROOT)))


def _demand_fitting(facts):
    engine = engine_of(connection).ENGINE
    if facts.get("engine") != engine:
        raise Refused(
            f"The backup is of a {facts.get('engine')} database; this site runs on {engine}."
        )
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    if newer := sorted(set(facts.get("migrations", [])) - known):
        raise Refused(
            f"The backup was made by a newer version of the site, which knows {newer[0]}. "
            "Bring this site up to date first."
        )


def _unpack(package, scratch):
    """Unpack all to a folder, holding each file against its hash; returns the database's path."""
    (scratch / MEDIA).mkdir()
    for name in package.names():
        path = scratch / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as file:
            file.writelines(package.chunks(name))
        path.chmod(settings.FILE_UPLOAD_PERMISSIONS)
    return scratch / engine_of(connection).FILE


def _swap(media, restored):
    """Put the restored media in place; returns where the former ones are now, None without any.

    Within the folder: it may be a disk of its own, or the only one the site may write to.
    """
    former = [path for path in media.iterdir() if not path.name.startswith(".")]
    set_aside = Path(tempfile.mkdtemp(dir=media, prefix=".before-restore-")) if former else None
    for path in former:
        path.replace(set_aside / path.name)
    for path in restored.iterdir():
        path.replace(media / path.name)
    return set_aside


def _demand_same_rows(expected):
    """Hold the restored tables against what the backup counted."""
    with connection.cursor() as cursor:
        found = rows_in(engine_of(connection), cursor)
    for table in sorted(expected.keys() | found.keys()):
        if found.get(table) != expected.get(table):
            raise Refused(
                f"The table {table} has {found.get(table)} rows; the backup had "
                f"{expected.get(table)}."
            )
