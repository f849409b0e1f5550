"""Take the pictures that README shows, from the demo's own pages and report.

1. Serve the demo database on a free port of this machine.
2. Sign in as each of the demo's people and take the pages named in
`alignment.sandbox.demo.pictures`. 3. Draw the first pages of the demo's report from its PDF.
"""

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import urlopen

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from shop.hooks import from_above
from shop.paper.models import Document

FOLDER = Path(settings.BASE_DIR) / ".pictures"
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
REPORT_PAGES = 2
SECONDS_TO_START = 60


class Command(BaseCommand):
    help = "Take the pictures shown in README from the demo (needs Chromium)."

    def handle(self, *args, **options):
        chromium = shutil.which("chromium")
        if chromium is None:
            raise CommandError("Chromium is not installed; on Debian: apt-get install chromium")
        FOLDER.mkdir(exist_ok=True)
        pages = from_above("pictures")()
        with _served() as address:
            self._take(chromium, address, pages)
        self._draw_report()

    def _take(self, chromium, address, pages):
        from playwright.sync_api import sync_playwright

        # Every question to the database was asked before; Playwright runs a loop of its own.
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            for page in pages:
                # Waiting for a page to settle runs script in it, which the site's policy refuses.
                screen = browser.new_page(viewport=PHONE if page.phone else DESK, bypass_csp=True)
                screen.goto(f"{address}/sign-in/")
                screen.fill("[name=username]", page.username)
                screen.fill("[name=password]", page.password)
                screen.click("main button[type=submit]")
                screen.goto(address + page.path)
                if page.prepare:
                    page.prepare(screen)
                screen.screenshot(path=FOLDER / f"{page.name}.png", full_page=page.whole)
                screen.close()
                self.stdout.write(f"{page.name}.png")
            browser.close()

    def _draw_report(self):
        import pypdfium2

        document = Document.objects.filter(kind="service report").first()
        if document is None:
            raise CommandError("There is no issued report; run the demo command first.")
        pdf = pypdfium2.PdfDocument(document.file.read())
        for index in range(min(REPORT_PAGES, len(pdf))):
            pdf[index].render(scale=1.3).to_pil().save(FOLDER / f"report-page-{index + 1}.png")
            self.stdout.write(f"report-page-{index + 1}.png")


@contextlib.contextmanager
def _served():
    """The site on a free port of this machine; yields its address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{port}"]
    server = subprocess.Popen(
        command, cwd=settings.BASE_DIR, env=os.environ, stderr=subprocess.DEVNULL
    )
    address = f"http://127.0.0.1:{port}"
    try:
        _wait_for(f"{address}/sign-in/")
        yield address
    finally:
        server.terminate()
        server.wait()


def _wait_for(url):
    for _ in range(SECONDS_TO_START * 10):
        with contextlib.suppress(OSError):
            urlopen(url, timeout=1)
            return
        time.sleep(0.1)
    raise CommandError(f"The site did not answer at {url}.")
