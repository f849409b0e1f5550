"""What a phone at the machine does in several tests: log, lose the network, wait."""

import io
import re

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import expect

from tests.browser.conftest import LONGEST_WAIT_MS

SETTLED_MS = 1500  # by then a page has sent what it was going to send
# Both the worker that answers without a network and the pages that were kept by it stand ready.
READY = """async (address) => {
    await navigator.serviceWorker.ready;
    const pages = await caches.open("pages");
    return navigator.serviceWorker.controller && Boolean(await pages.match(address));
}"""


def label_of(machine):
    return reverse("machines:at_machine", args=[machine.code])


def photo():
    """A photo with a place in its camera data, as a phone takes it."""
    picture = io.BytesIO()
    exif = Image.Exif()
    exif.get_ifd(0x8825)[1] = "N"
    Image.new("RGB", (2400, 1800), "#7a6a55").save(picture, "JPEG", exif=exif)
    return {"name": "crash.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}


class Thumb:
    """Taps what is called so, and counts."""

    def __init__(self, page):
        self.page, self.taps = page, 0

    def tap(self, text):
        self.page.locator("label.choice, button").get_by_text(text, exact=False).first.click()
        self.taps += 1
        return self


def log_a_hit(page, station="sub-spindle"):
    thumb = Thumb(page).tap("Crash")
    thumb.page.locator(".chain-pick label", has_text=re.compile(rf"\d {station}")).click()
    thumb.taps += 1
    thumb.tap("X2 +").tap("Hard: something bent").tap("Stopped until looked at").tap("Log it")
    return thumb


def sign_out(page):
    """The way out lies in the menu where the screen is narrow."""
    menu = page.get_by_role("button", name="Menu", exact=True)
    if menu.is_visible():
        menu.click()
    page.get_by_role("button", name="Sign out").click()


def wait_until(page, comes_true):
    """Look again and again until something comes true, as long as a person would wait."""
    for _ in range(LONGEST_WAIT_MS // 100):
        if comes_true():
            return
        page.wait_for_timeout(100)
    pytest.fail("it did not come true")


def arrive(page, model, count):
    wait_until(page, lambda: model.objects.count() == count)


def ready_offline(page, address=None):
    """Wait until a page, else this one, would open without a network; take the network away."""
    wait_until(page, lambda: page.evaluate(READY, address or page.url))
    page.context.set_offline(True)


def waits(page, count):
    told = f"{count} entr{'y waits' if count == 1 else 'ies wait'} on this device"
    expect(page.locator("#queue")).to_contain_text(told)
