"""A simulated lathe set true by somebody who only does what the screen says."""

import re

import numpy as np
import pytest
from django.urls import reverse

from tests.browser.walker import Walker
from tests.simulated.site import ANGLES, PLANES, Site, vector_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
# The sub-spindle holds the indicator and looks back, as on most such machines.
VIEWS = dict.fromkeys(PLANES, ("datum", "from the headstock"))
VIEWS["sub-spindle"] = ("station", "to the headstock")


class AtTheScreen(Site):
    """The same lathe, its readings typed and its moves read in a browser."""

    def __init__(self, walker, *told):
        super().__init__(None, *told)
        self.walker = walker

    def address(self, name, pk):
        return reverse(f"alignment:{name}", args=[self.visit.pk, pk])

    def sweep(self, kind, phase="as found"):
        item = self.station(kind).items.first()
        address = f"{self.address('sweep', item.pk)}?phase={phase.replace(' ', '+')}"
        self.walker.go(address, self.station(kind).name.capitalize()).understand()
        for angle, shown in zip(ANGLES, self.shown(kind, surface=item.surface), strict=True):
            label = re.compile(rf"Reading at {angle}°")
            self.walker.page.get_by_label(label).fill(f"{shown:.1f} µm")
        self.walker.press("Save this sweep", phase)

    def move_as_told(self, kind):
        """By the words alone, as somebody would who taps a casting over."""
        station = self.station(kind)
        heading = f"Record an adjustment of the {station}"
        self.walker.go(f"{self.address('adjust', station.pk)}?unit=um", heading)
        text = " ".join(self.walker.page.locator("main").inner_text().split())
        self._shift(kind, text.replace("\N{NO-BREAK SPACE}", " "), by_axes=False)
        self.walker.tick("by free shift of a bolted casting")
        self.walker.fill("What was done", "eased, tapped over")
        self.walker.press("Record the adjustment", self.station(kind).name.capitalize())
        told = text.split(f"The {station} stands")[1].split("seen from")[0]
        return vector_of(told)


@pytest.mark.parametrize("headstock", ["left", "right"])
def test_doing_what_the_screen_says_sets_it_true(window, visit, machine, contractor, headstock):
    contractor.length_unit = "um"
    contractor.save()
    rng = np.random.default_rng(5)
    off = {kind: rng.uniform(-40, 40, 2) for kind in PLANES}
    walker = Walker(window(), contractor).sign_in()
    here = AtTheScreen(walker, visit, machine, headstock, VIEWS, {}, off, (0, 0))
    for kind in ("guide bushing", "sub-spindle"):
        here.sweep(kind)
    for kind in ("guide bushing", "sub-spindle"):
        here.sweep(kind, "as left")
        stood = here.truth(kind)
        assert here.move_as_told(kind) == pytest.approx(stood, abs=0.35)
        assert here.truth(kind) == pytest.approx((0, 0), abs=0.35)
        here.sweep(kind, "as left")
        walker.reads("Planned and measured", "The move did what was planned")
