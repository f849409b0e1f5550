"""How many presses, taps and page loads five stations take; run by `tests.benchmarks.walk`."""

import pytest

from alignment.adjusting.services import record_adjustment
from alignment.sheets.models import AcceptanceItem
from machines.visit_work.services import add_machine_to_visit
from tests.benchmarks.noted import asked_for, note
from tests.browser.hand import Hand
from tests.browser.walker import Walker

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not asked_for(), reason="a measurement: python -m tests.benchmarks.walk"),
]

SCREENS = {
    "phone": {"viewport": {"width": 360, "height": 640}, "has_touch": True, "is_mobile": True},
    "desk": {"viewport": {"width": 1280, "height": 900}},
}
# A centre some tenths to the right and down, in a bore; and about where it belongs.
READINGS = {
    "as found": {4: ("0", "-3", "8", "11"), 8: ("0", "-3", "-3", "2", "8", "12", "11", "6")},
    "as left": {4: ("0", "-1", "1", "2"), 8: ("0", "-1", "-1", "0", "1", "2", "2", "1")},
}
ROUND = ("bore", "boss")


@pytest.fixture
def lines(machine):
    """One line at each of five stations, in checking order, swept round the clock."""
    found = AcceptanceItem.objects.in_force().filter(sheet__machine=machine)
    kept = {}
    for item in found.filter(surface__in=ROUND).exclude(quantity__startswith="tilt"):
        kept.setdefault(item.station_id, item)
    found.exclude(pk__in=[item.pk for item in kept.values()]).delete()
    found.update(quantity="offset", lower_um=None, upper_um="10.16")
    return list(found)[:5]


@pytest.mark.parametrize("points", [4, 8])
@pytest.mark.parametrize("screen", SCREENS)
def test_walk(browser, live_server, contractor, visit, machine, lines, screen, points):
    add_machine_to_visit(visit, machine)
    context = browser.new_context(base_url=live_server.url, **SCREENS[screen])
    context.set_default_timeout(60_000)
    page = context.new_page()
    Walker(page, contractor).sign_in()
    hand = Hand(page, touches=screen == "phone")
    for phase in ("as found", "as left"):
        hand.presses = hand.taps = hand.loads = 0
        if phase == "as left":
            _move_all(visit, lines, contractor)
        _sweep_all(hand, visit, lines, phase, points)
        note(screen=screen, points=points, phase=phase, stations=len(lines), **_counts(hand))
    context.close()


def _move_all(visit, lines, contractor):
    """What was out is moved, which is not what is counted here."""
    for line in lines:
        record_adjustment(visit=visit, station=line.station, what="moved over", made_by=contractor)


def _sweep_all(hand, visit, lines, phase, points):
    hand.open(visit, lines[0])
    if phase == "as found":
        hand.understand()
        if points == 8:
            hand.tap(hand.page.locator(".setup > summary"))
            hand.tap(hand.page.locator("#layout-8"))
            hand.page.locator("[data-reading]").nth(7).wait_for()
        hand.count_in("tenths")
    else:
        hand.page.locator(".phase label").nth(1).click()
    for place in range(len(lines)):
        hand.page.locator("form[data-begun]").wait_for()
        hand.read(*READINGS[phase][points])
        hand.page.locator(".glance .verdict").wait_for()
        hand.save("Save, next" if place + 1 < len(lines) else "Save this sweep")


def _counts(hand):
    return {"presses": hand.presses, "taps": hand.taps, "loads": hand.loads}
