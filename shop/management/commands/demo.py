"""Make the demo and serve it.

1. Bring the database up to date.
2. Make the demo's shops, machines and visits, unless they are there; refuse other shops.
3. Write one service report beside the database.
4. Print the address and who can sign in, and serve on this machine only.
"""

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from shop.sandbox.demo import make_demo, sign_ins, write_report
from shop.web.errors import Refused
from shop.web.served import served_at


class Command(BaseCommand):
    help = "Make a demo of two shops with two years of visits, and serve it on this machine."

    def add_arguments(self, parser):
        parser.add_argument("--no-serve", action="store_true", help="stop before serving")
        parser.add_argument("--port", type=int, default=8000, help="port to serve on (8000)")

    def handle(self, *args, port, no_serve, **options):
        self.stdout.write("Making the demo; two years of visits take a moment.")
        call_command("migrate", verbosity=0)
        try:
            with served_at(f"http://127.0.0.1:{port}"):
                made = make_demo()
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        address = f"http://127.0.0.1:{port}/"
        self._tell(made, write_report(), address)
        if not no_serve:
            call_command("runserver", f"127.0.0.1:{port}", use_reloader=False)

    def _tell(self, made, report, address):
        self.stdout.write("The demo is made." if made else "The demo was made before; nothing new.")
        self.stdout.write(f"A service report: {report}")
        self.stdout.write(f"Address: {address}")
        for sign_in in sign_ins():
            self.stdout.write(f"  {sign_in.username:<11} {sign_in.password:<12} {sign_in.who}")
