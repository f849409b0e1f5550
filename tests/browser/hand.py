"""A thumb on the instrument: counts key presses, taps, page loads and scrolls."""

import re

from django.urls import reverse
from playwright.sync_api import expect

KEYS = {"-": "sign", ">": "next", "<": "back"}
# What scrolls on the screen where something is entered: nothing may.
HIDDEN = """() => {
  const wanted = '[data-reading], [name=save], .glance, .strip, .move, h1';
  const isOff = one => {
    const box = one.getBoundingClientRect();
    const isHigh = box.top < 0 || box.bottom > innerHeight + 1;
    return isHigh || box.left < 0 || box.right > innerWidth + 1;
  };
  const seen = [...document.querySelectorAll(wanted)].filter(one => one.checkVisibility());
  return seen.filter(isOff).map(one => one.outerHTML.slice(0, 80));
}"""
TOO_TALL = "() => document.documentElement.scrollHeight - document.documentElement.clientHeight"


class Hand:
    """Somebody at the sweep page, by the screen's own keys or by a keyboard."""

    def __init__(self, page, *, touches):
        self.page, self.touches = page, touches
        self.presses = self.taps = self.loads = 0
        page.on("load", self._loaded)

    def _loaded(self, _page):
        self.loads += 1

    def open(self, visit, item):
        self.page.goto(reverse("alignment:sweep", args=[visit.pk, item.pk]))
        return self

    def understand(self):
        """Read the cautions, once a visit."""
        self.tap(self.page.get_by_role("button", name="I have read it"))
        return self

    def tap(self, thing):
        thing.tap() if self.touches else thing.click()
        self.taps += 1

    def count_in(self, unit):
        self.tap(self.page.locator(f"#count-{unit}"))
        return self

    def read(self, *readings):
        """Type readings into the boxes in the direction of the sweep, each with its way on."""
        for reading in readings:
            self._press([*reading, ">"])
        return self

    def _press(self, keys):
        for key in keys:
            if self.touches:
                self.page.locator(f"[data-key='{KEYS.get(key, key)}']").tap()
            else:
                self.page.keyboard.press("Enter" if key == ">" else key)
            self.presses += 1

    def sees(self, verdict):
        expect(self.page.locator(".glance")).to_contain_text(verdict)
        return self

    def save(self, button="Save this sweep"):
        with self.page.expect_event("load"):
            self.tap(self.page.get_by_role("button", name=re.compile(f"^{button}")))
        return self

    def sees_all_at_once(self):
        """See that boxes, result and Save stand on the screen, which does not scroll."""
        assert self.page.evaluate(TOO_TALL) <= 0
        assert self.page.evaluate(HIDDEN) == []
        return self
