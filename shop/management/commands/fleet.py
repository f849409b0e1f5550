"""Write a synthetic fleet, for measuring and for trying estimators against a known truth.

1. Bring the database up to date.
2. Write firms, shops, people, machines and years of visits in bulk, all drawn from one seed.
3. Write the truth behind the readings as JSON beside the database.
4. Say how many rows were written, how fast, and who can sign in.
"""

import json
import time

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop.sandbox.demo.people import PASSWORD
from shop.sandbox.synthetic_data import Asked, make_fleet
from shop.sandbox.synthetic_data.people import EVERYWHERE
from shop.web.errors import Refused


class Command(BaseCommand):
    help = "Write a synthetic fleet in bulk, with the truth behind it kept as JSON."

    def add_arguments(self, parser):
        parser.add_argument("--machines", type=int, required=True, help="how many machines")
        parser.add_argument("--years", type=float, default=2, help="years of record (2)")
        parser.add_argument("--seed", type=int, default=0, help="the same seed, the same fleet (0)")
        parser.add_argument("--shops", type=int, default=0, help="how many shops (one for 25)")
        parser.add_argument("--visits", type=float, default=2, help="visits a machine and year (2)")

    def handle(self, *args, machines, years, seed, shops, visits, **options):
        call_command("migrate", verbosity=0)
        begun = time.monotonic()
        try:
            fleet = make_fleet(Asked(machines, years, seed, shops, visits))
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        seconds = time.monotonic() - begun
        path = settings.LOCAL_DIR / "fleet-truth.json"
        path.write_text(json.dumps({"seed": seed, "machines": fleet.truth}))
        rows = fleet.rows.total()
        self.stdout.write(
            f"{rows:,} rows in {seconds:.0f} s, {rows / seconds:,.0f} a second; "
            f"{fleet.rows['Machine']:,} machines at {fleet.rows['Shop']:,} shops, "
            f"{fleet.rows['Visit']:,} visits, {fleet.rows['Check']:,} checks."
        )
        self.stdout.write(f"The truth behind the readings: {path}")
        self.stdout.write(f"Sign in as {EVERYWHERE} or fleet-contractor-1, password {PASSWORD}.")
