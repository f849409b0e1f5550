"""Make an empty site of one's own and serve it on the local network.

1. Keep its data in a folder of its own, beside the demo's (`shop.begin.serving`).
2. Bring the database up to date, and make a certificate where HTTPS is asked for.
3. Print the address, what a phone may stumble over, and the link to begin with.
4. Serve until it is stopped; with HTTPS the plain port leads phones through trusting it.
"""

import signal
import subprocess
import sys
from urllib.parse import urlsplit

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.urls import reverse

from shop.begin.certificate import AUTHORITY, ensure_certificate, fingerprint
from shop.begin.services import is_unbegun, new_token
from shop.begin.serving import ROOT, add_options, served_by

GUNICORN = [sys.executable, "-m", "gunicorn", "-c", "python:shop.begin.workers"]


class Command(BaseCommand):
    help = "Make an empty site of your own beside the demo, and serve it on the local network."

    def add_arguments(self, parser):
        add_options(parser)

    def handle(self, *args, address, port, https, no_serve, **options):
        served = served_by(address or settings.SITE_ADDRESS, port, https)
        call_command("migrate", verbosity=0)
        self.stdout.write(f"Data: {settings.LOCAL_DIR}")
        self.stdout.write(f"Address: {settings.SITE_ADDRESS}/")
        for warning in served.warnings:
            self.stdout.write(self.style.WARNING(f"Mind: {warning}"))
        certificate = self._certificate(served) if settings.OWN_CERTIFICATE else ()
        self._say_how_to_begin()
        if not no_serve:
            self.stdout.write("Stop it with Ctrl+C.")
            self.stdout.flush()
            _serve(served, certificate)

    def _certificate(self, served):
        hosts = [one for one in settings.ALLOWED_HOSTS if not one.startswith("[")]
        paths = ensure_certificate(settings.OWN_CERTIFICATE, [served.host, *hosts[1:]])
        authority = fingerprint(paths[0].parent / AUTHORITY)
        self.stdout.write(f"On each phone, once: {served.plain_address}{reverse('shop:trust')}")
        self.stdout.write(f"Its certificate is, by SHA-256: {authority}")
        return paths

    def _say_how_to_begin(self):
        if not is_unbegun():
            self.stdout.write("Somebody has begun here; sign in.")
            return
        link = settings.SITE_ADDRESS + reverse("shop:begin_with", args=[new_token()])
        self.stdout.write(f"Begin here, within three days: {link}")
        if urlsplit(settings.SITE_ADDRESS).scheme == "http":
            self.stdout.write("Without --https a phone keeps nothing while it has no network.")


def _serve(served, certificate):
    """Serve until one of the servers ends or somebody stops it."""
    plain = [*GUNICORN, "--bind", f"0.0.0.0:{served.port}", "shop.wsgi"]
    commands = [plain]
    if certificate:
        crt, key = map(str, certificate)
        bind = ["--bind", f"0.0.0.0:{served.https_port}", "--certfile", crt, "--keyfile", key]
        commands.append([*GUNICORN, *bind, "shop.wsgi"])
    servers = [subprocess.Popen(command, cwd=ROOT) for command in commands]
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    try:
        servers[-1].wait()
    except KeyboardInterrupt:
        pass
    finally:
        for server in servers:
            server.terminate()
        for server in servers:
            server.wait()
