"""Making a backup: one file that was read back and found right before anybody relies on it."""

import os
import shutil
import tempfile
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.db import connection, models
from django.db.migrations.recorder import MigrationRecorder

from shop.records.packing import Limits, Packer, chunks_of, opened
from shop.web.errors import Refused

from . import postgresql, sqlite

KIND = "sweepbook backup"
VERSION = 1
MEDIA = "media/"
NAME = "sweepbook-{:%Y-%m-%dT%H-%M-%S-%f}Z.zip"
PATTERN = "sweepbook-????-??-??T??-??-??-*Z.zip"


def engine_of(connection):
    """The module that copies this kind of database."""
    return {"sqlite": sqlite, "postgresql": postgresql}[connection.vendor]


def make_backup(folder, *, keep=None):
    """Write a backup of the site into `folder` and return its path; raises Refused.

    The database is copied as it was at one moment, while people go on working. Files are written
    before the rows that name them, so every file that the copy names is there afterwards.
    keep: how many backups to leave in the folder, older ones are deleted; None leaves all.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / NAME.format(datetime.now(UTC))
    with tempfile.TemporaryDirectory(dir=folder, prefix=".making-") as scratch:
        written = Path(scratch) / path.name
        _write(written, Path(scratch))
        verify_backup(written)
        written.replace(path)
    if keep:
        for old in backups_in(folder)[:-keep]:
            old.unlink()
    return path


def backups_in(folder):
    """The backups in a folder, oldest first."""
    return sorted(folder.glob(PATTERN))


def verify_backup(path):
    """Read a backup through and hold it against its hashes; returns its manifest's facts."""
    with open_backup(path) as package:
        package.verify()
        return package.facts


@contextmanager
def open_backup(path):
    """The `Package` of a backup; raises Refused when it is none or there is no room for it."""
    limits = Limits(total_bytes=shutil.disk_usage(settings.MEDIA_ROOT).free)
    if not path.is_file():
        raise Refused(f"There is no file {path}.")
    with opened(path, kind=KIND, version=VERSION, limits=limits) as package:
        yield package


def _write(path, scratch):
    engine = engine_of(connection)
    copy = scratch / engine.FILE
    with engine.copied(connection, copy) as cursor, _private(path) as file:
        packer = Packer(file)
        with copy.open("rb") as database:
            packer.add(engine.FILE, chunks_of(database), shrink=engine is sqlite)
        copy.unlink()
        missing = sorted(_files_named(engine, cursor) - _add_media(packer))
        packer.finish(
            kind=KIND,
            version=VERSION,
            engine=engine.ENGINE,
            made_at=datetime.now(UTC).isoformat(timespec="seconds"),
            rows=rows_in(engine, cursor),
            migrations=_migrations(cursor),
            missing_files=missing,
        )


def _private(path):
    """Open a new file that nobody else on the machine may read."""
    return os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb")


def _add_media(packer):
    """Put in every media file; returns their names."""
    root = Path(settings.MEDIA_ROOT)
    names = set(media_in(root))
    for name in sorted(names):
        with (root / name).open("rb") as file:
            packer.add(MEDIA + name, chunks_of(file), shrink=False)
    return names


def media_in(root):
    """Yield the names of all media files; what begins with a dot is work in progress."""
    for path in root.rglob("*"):
        name = path.relative_to(root)
        if path.is_file() and not any(part.startswith(".") for part in name.parts):
            yield name.as_posix()


def rows_in(engine, cursor):
    """How many rows each table of the database has, by the table's name."""
    found = {}
    for table in sorted({table for table, _column in engine.columns(cursor)}):
        cursor.execute(f'SELECT count(*) FROM "{table}"')
        (found[table],) = cursor.fetchone()
    return found


def _files_named(engine, cursor):
    """The names of all files that a row names; a column still to be migrated names none."""
    there = engine.columns(cursor)
    names = set()
    for model in apps.get_models():
        table = model._meta.db_table
        for field in model._meta.fields:
            if isinstance(field, models.FileField) and (table, field.column) in there:
                cursor.execute(f'SELECT "{field.column}" FROM "{table}"')
                names |= {name for (name,) in cursor.fetchall() if name}
    return names


def _migrations(cursor):
    cursor.execute(f'SELECT app, name FROM "{MigrationRecorder.Migration._meta.db_table}"')
    return sorted(f"{app}.{name}" for app, name in cursor.fetchall())
