"""The five-station job on a phone of 360 × 640, from one thing to the next without the visit's page
in between: as found, the belt while it is off, the move, as left; and what was entered wrongly."""

import math
import re

import pytest
from playwright.sync_api import expect

from alignment.sweeps.models import Check
from alignment.sweeps.services import save_check
from machines.drive.models import BeltInspection
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import arrive
from tests.factories import PASSWORD, five_station_machine, typed_sweep

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PHONE = {"width": 360, "height": 640}
LONGEST_WAIT_MS = 90_000
HEIGHT = "() => document.documentElement.scrollHeight"
ANGLES = range(0, 360, 15)
SAVE = re.compile("^(Save and go on|Save, next)")


@pytest.fixture
def page(browser, live_server, contractor):
    """The contractor signed in at a small phone."""
    context = browser.new_context(viewport=PHONE, base_url=live_server.url)
    context.set_default_timeout(LONGEST_WAIT_MS)
    opened = context.new_page()
    opened.goto("/")
    opened.get_by_label("Name", exact=False).first.fill(contractor.username)
    opened.get_by_label("Password").fill(PASSWORD)
    opened.get_by_role("button", name="Sign in").click()
    opened.wait_for_load_state()
    yield opened
    context.close()


@pytest.fixture
def here(visit, machine):
    add_machine_to_visit(visit, machine)
    arrive(visit)
    return visit


class Job:
    """Somebody who does what the thread says, and counts the pages that are loaded."""

    def __init__(self, page):
        self.page, self.loads, self.done = page, 0, []
        page.on("domcontentloaded", self._count)

    def _count(self, _page):
        self.loads += 1

    def go_on(self, button):
        """One tap; the next thing comes with one page load at most."""
        self.loads = 0
        before = self.page.url
        self.page.get_by_role("button", name=button).first.click()
        self.page.wait_for_function("before => location.href !== before", arg=before)
        self.page.wait_for_load_state()
        assert self.loads <= 1

    def sweep(self, off_um):
        """Into whatever boxes there are; `off_um`: how far the bore stands off in height."""
        understood = self.page.get_by_role("button", name="I have read it")
        if understood.is_visible():
            understood.click()
        for angle in ANGLES:
            box = self.page.get_by_role("textbox", name=re.compile(rf"(?<!\d){angle}°"))
            if box.count():
                box.first.fill(f"{off_um * math.cos(math.radians(angle)):.1f} µm")
        self.done.append("as left" if "as+left" in self.page.url else "as found")
        self.go_on(SAVE)

    def look_at_the_belt(self):
        self.page.get_by_label("all teeth", exact=False).or_(
            self.page.get_by_text("teeth were looked at and are sound")
        ).first.click()
        self.done.append("belt")
        self.go_on("Save and go on")

    def adjust(self):
        self.page.get_by_label("What was done").fill("eased, tapped down")
        self.done.append("adjust")
        self.go_on("Record the adjustment")

    def walk(self, out):
        """Until the visit's page comes; `out`: the item that is found 40 µm high."""
        while any(what in self.page.url for what in ("/sweep/", "/adjust/", "/inspect/")):
            if "/inspect/" in self.page.url:
                self.look_at_the_belt()
            elif "/adjust/" in self.page.url:
                self.adjust()
            else:
                is_out = f"/items/{out.pk}/" in self.page.url and "as+found" in self.page.url
                self.sweep(40 if is_out else 0)


def open_fold(page, heading):
    page.locator("summary", has=page.get_by_role("heading", name=heading, exact=True)).click()


def test_the_whole_job_goes_by_its_thread(page, here, machine, bore_of):
    page.goto(here.get_absolute_url())
    open_fold(page, "Belts")
    address = page.url
    page.get_by_role("button", name=re.compile("It is off")).last.click()
    expect(page.get_by_role("button", name=re.compile("It stayed on"))).to_have_count(
        1, timeout=LONGEST_WAIT_MS
    )
    expect(page.locator("#before-signing .fold-told")).to_contain_text(
        "open", timeout=LONGEST_WAIT_MS
    )
    assert page.url == address, "a tick is taken in place"
    assert page.locator("#belts-in").is_visible()
    page.locator("#next-thing a").click()
    page.wait_for_load_state()
    job = Job(page)
    job.walk(out=bore_of("guide bushing"))
    found = job.done.index("belt")
    assert set(job.done[:found]) == {"as found"}
    assert job.done[found : found + 3] == ["belt", "adjust", "as left"]
    assert Check.objects.filter(phase="as left", verdict="within").exists()
    assert BeltInspection.objects.get().visit == here
    assert page.url.rstrip("/").endswith(f"/visits/{here.pk}")


def test_a_tap_on_a_dot_goes_there_and_skipping_goes_on(page, here, machine, bore_of):
    page.goto(here.get_absolute_url())
    page.locator("#next-thing a").click()
    bar = page.get_by_role("navigation", name=re.compile("Stations of machine"))
    expect(bar.get_by_role("link")).to_have_count(machine.stations.count(), timeout=LONGEST_WAIT_MS)
    bar.get_by_role("link", name=re.compile("Sub-spindle")).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(
        "Sub-spindle", timeout=LONGEST_WAIT_MS
    )
    before = page.url
    page.get_by_role("button", name="Skip").click()
    page.wait_for_function("before => location.href !== before", arg=before)
    expect(page.get_by_role("heading", level=1)).to_contain_text(
        "Headstock", timeout=LONGEST_WAIT_MS
    )


def test_the_plan_is_short(page, here, shop):
    page.goto(here.get_absolute_url())
    assert page.evaluate(HEIGHT) <= 3 * PHONE["height"]
    for number in ("M2", "M3"):
        add_machine_to_visit(here, five_station_machine(shop, number=number))
    page.reload()
    assert page.evaluate(HEIGHT) <= 6 * PHONE["height"]
    assert page.evaluate("() => document.documentElement.scrollWidth") <= PHONE["width"]


def test_one_tap_withdraws_and_one_restores(page, here, save_sweep, bore_of):
    check = save_sweep(bore_of("guide bushing"))
    page.goto(check.get_absolute_url())
    page.get_by_role("button", name=re.compile("Withdraw: entered by mistake")).click()
    expect(page.get_by_role("heading", name="Withdrawn")).to_be_visible(timeout=LONGEST_WAIT_MS)
    assert not Check.objects.exists()
    page.get_by_role("button", name=re.compile("Restore")).click()
    expect(page.locator(".messages")).to_contain_text("restored", timeout=LONGEST_WAIT_MS)
    assert Check.objects.get() == check


@pytest.fixture
def bore_of(machine):
    return lambda kind: machine.sheets.get().items.filter(station__kind=kind).first()


@pytest.fixture
def save_sweep(here, contractor):
    def save(item):
        sweep = typed_sweep(3, 1, surface=item.surface)
        return save_check(visit=here, item=item, phase="as found", sweep=sweep, made_by=contractor)

    return save
