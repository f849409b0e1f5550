"""Make this site what a backup is.

1. Refuse a site that holds something, unless told to replace it.
2. Check the backup: its kind, its version, the hash of every file in it.
3. Put the database back, all of it or nothing, and then the media.
4. Bring the database up to date with this version of the site, and compare all counts.
5. Hold every file against the SHA-256 that its record keeps, and say which differ or are gone.
"""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop.records.backups.restoring import restore
from shop.records.verifying import file_troubles
from shop.web.errors import Refused


class Command(BaseCommand):
    help = "Restore a backup into this site."
    requires_migrations_checks = False

    def add_arguments(self, parser):
        parser.add_argument("backup", type=Path, help="the file that backup wrote")
        parser.add_argument(
            "--replace", action="store_true", help="give up all that this site holds"
        )

    def handle(self, *args, backup, replace, **options):
        try:
            set_aside = restore(backup, replace=replace)
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write("Restored, and every table counted. Everybody signs in anew.")
        for trouble in file_troubles():
            self.stdout.write(f"In the backup already: {trouble}")
        if set_aside:
            self.stdout.write(f"The media that were here before are in {set_aside}.")
