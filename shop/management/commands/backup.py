"""Put the whole site, database and media, into one file.

1. Copy the database as it is at one moment, while people go on working.
2. Add every media file, and a manifest with the SHA-256 of each.
3. Read the file back and hold it against its manifest; only then give it its name.
4. Delete the oldest backups beyond those to keep.
"""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop.records.backups.making import make_backup, verify_backup
from shop.web.errors import Refused


class Command(BaseCommand):
    help = "Write a backup of the whole site, and read it back to be sure of it."

    def add_arguments(self, parser):
        parser.add_argument(
            "--to", type=Path, default=settings.BACKUPS, help=f"folder ({settings.BACKUPS})"
        )
        parser.add_argument("--keep", type=int, help="how many to leave there (all of them)")

    def handle(self, *args, to, keep, **options):
        if keep is not None and keep < 1:
            raise CommandError("--keep must leave one backup at least.")
        try:
            path = make_backup(to, keep=keep)
            facts = verify_backup(path)
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        size_mb = path.stat().st_size / 1e6
        rows = sum(facts["rows"].values())
        self.stdout.write(f"{path}: {rows:,} rows, {len(facts['entries']) - 1:,} files.")
        self.stdout.write(f"Read back and found right; {size_mb:.1f} MB.")
        for name in facts["missing_files"]:
            self.stderr.write(f"The database names a file that is not there: {name}")
