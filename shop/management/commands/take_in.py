"""Take a shop's archive into this site: all of it, or nothing."""

import shutil
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop.records.archive.taking_in import take_in
from shop.records.packing import Limits
from shop.records.signatures import signed_troubles
from shop.visits.models import SignedRecord
from shop.web.errors import Refused
from shop.web.site_key import typed_key


class Command(BaseCommand):
    help = "Take in a file that take_out wrote. People known here stay as they are here."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="the file that take_out wrote")
        parser.add_argument(
            "--key", type=typed_key, help="the public key of the site it comes from"
        )

    def handle(self, *args, file, key, **options):
        if not file.is_file():
            raise CommandError(f"There is no file {file}.")
        limits = Limits(total_bytes=shutil.disk_usage(settings.MEDIA_ROOT).free)
        try:
            came = take_in(file, limits=limits, key=key or "")
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"{came.shop.name} is here: {sum(came.rows.values()):,} rows.")
        self.stdout.write(_told(came.proof))
        for trouble in signed_troubles(SignedRecord.objects.filter(visit__shop=came.shop)):
            self.stdout.write(f"  not as it was signed: {trouble}")
        for person in came.known:
            self.stdout.write(f"  known here: {person.username}, {person.name}")
        for person in came.made:
            self.stdout.write(f"  made without a password: {person.username}, {person.name}")


def _told(proof):
    if proof.proved:
        return "  proved: it is as its site gave it out."
    return f"  not proved: {proof.why}. Give the site's public key with --key."
