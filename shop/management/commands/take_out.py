"""Take a whole shop out: one zip with JSON lines per table, every file, and a manifest."""

import os
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from shop.people.models import Shop
from shop.records.archive.taking_out import take_out
from shop.web.errors import Refused


class Command(BaseCommand):
    help = "Write everything of one shop into one file, which take_in takes in again."

    def add_arguments(self, parser):
        parser.add_argument("shop", help="the shop's name")
        parser.add_argument("file", type=Path, help="the file to write; it must not be there yet")

    def handle(self, *args, shop, file, **options):
        found = Shop.objects.filter(name=shop).first()
        if found is None:
            raise CommandError(f"There is no shop called {shop}.")
        try:
            opened = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError as error:
            raise CommandError(f"{file} is there already.") from error
        try:
            with os.fdopen(opened, "wb") as out:
                rows = take_out(found, out, shop=found.name)
        except Refused as refusal:
            file.unlink()
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"{file}: {sum(rows.values()):,} rows of {found.name}.")
