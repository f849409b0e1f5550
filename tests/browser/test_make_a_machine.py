"""A machine of a kind, its sheet and a copy, by the keyboard alone; pages and boxes are counted."""

import pytest
from playwright.sync_api import expect

from machines.kinds.catalogue import our_kinds
from machines.register.models import Machine
from tests.browser.walker import Walker

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

USUAL = our_kinds()["gang-slide-with-guide-bushing"]
LIMITS = ["0.005", "0.010", "0.015", "0.005", "0.020", "±0.020", "±0.015"]
MOST_TABS = 120
HAS_FOCUS = "element => element === document.activeElement"


class Keyboard:
    """Walks by Tab, arrows, Space and Enter; counts the pages opened and the boxes filled in."""

    def __init__(self, page):
        self.page, self.pages, self.boxes = page, 0, 0

    def reach(self, locator):
        for _ in range(MOST_TABS):
            if locator.evaluate(HAS_FOCUS):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{locator} is not reached by Tab")

    def type(self, label, text):
        self.reach(self.page.get_by_label(label).first)
        self.page.keyboard.type(text)
        self.boxes += 1

    def type_in(self, name, text):
        self.reach(self.page.locator(f"[name='{name}']"))
        self.page.keyboard.type(text)
        self.boxes += 1

    def choose(self, first, wanted):
        self.reach(first)
        self.page.keyboard.press("Space")
        for _ in range(20):
            if wanted.is_checked():
                break
            self.page.keyboard.press("ArrowDown")
        self.boxes += 1

    def open(self, role, name):
        target = self.page.get_by_role(role, name=name).first
        self.reach(target)
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")
        self.pages += 1


def test_a_machine_its_sheet_and_a_second_one_by_the_keyboard(window, contractor):
    walker = Walker(window(), contractor)
    walker.sign_in()
    walker.go("/machines/", "Machines")
    keys = Keyboard(walker.page)
    keys.open("link", "Add a machine")
    keys.type("Number", "7")
    kinds = walker.page.locator("input[name=kind]")
    keys.choose(kinds.first, walker.page.get_by_label(USUAL.name))
    expect(walker.page.locator(".kind-picture img:visible")).to_have_count(1)
    keys.open("button", "Add the machine")
    walker.look("7 Gang slide")
    machine = Machine.objects.get(number="7")
    assert (machine.stations.count(), machine.belts.count()) == (5, 3)
    assert (keys.pages, keys.boxes) == (2, 2)  # the form, and where it led to

    keys.pages = keys.boxes = 0
    keys.open("link", "Type its limits")
    for number, limit in enumerate(LIMITS):
        keys.type_in(f"lines-{number}-upper", limit)
    keys.open("button", "Save the sheet")
    walker.look("Acceptance sheet")
    assert machine.sheets.get(is_current=True).items.with_limit().count() == 7
    assert (keys.pages, keys.boxes) == (2, 7)

    walker.go(machine.get_absolute_url(), "7 Gang slide")
    keys.pages = keys.boxes = 0
    walker.page.locator("summary", has_text="about it").press("Enter")
    keys.open("link", "Copy it")
    keys.type("Number", "8")
    keys.type("Serial number", "S-8")
    keys.open("button", "Make the copy")
    walker.look("8 Gang slide")
    assert Machine.objects.get(number="8").stations.count() == 5
    assert (keys.pages, keys.boxes) == (2, 2)
