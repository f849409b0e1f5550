"""Typing a sweep at the machine: slips of the thumb, and no mouse."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from alignment.sweeps.models import Check
from machines.visit_work.services import add_machine_to_visit
from tests.browser.walker import Walker
from tests.factories import item_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def sweeping(window, contractor, visit, machine):
    """The contractor in front of the empty sweep of the guide bushing housing's bore."""
    add_machine_to_visit(visit, machine)
    item = item_of(machine, "guide bushing")
    walker = Walker(window(), contractor).sign_in()
    address = reverse("alignment:sweep", args=[visit.pk, item.pk])
    walker.go(f"{address}?phase=as+found", "bore to the headstock axis")
    return walker.understand()


def box(walker, angle):
    return walker.page.get_by_label(re.compile(rf"Reading at {angle}°"))


def live(walker):
    return walker.page.get_by_label("Result", exact=True)


def test_letters_in_a_reading_are_named_at_the_box_and_nothing_is_lost(sweeping):
    for angle, text in {0: "0", 90: "7 apples", 180: "0.004", 270: "0.001"}.items():
        box(sweeping, angle).press_sequentially(text)
    wrong = sweeping.page.locator(".sweep-point").nth(1).locator(".errorlist")
    expect(wrong).to_contain_text("apples")
    sweeping.press("Save this sweep", "bore to the headstock axis")
    expect(wrong).to_contain_text("apples")
    assert [box(sweeping, angle).input_value() for angle in (0, 90, 180, 270)] == [
        "0",
        "7 apples",
        "0.004",
        "0.001",
    ]
    assert not Check.objects.exists()


def test_a_sweep_is_typed_and_saved_without_a_mouse(sweeping):
    """From box to box with the tab key; the way on leads past what is worked out to saving."""
    keyboard = sweeping.page.keyboard
    box(sweeping, 0).focus()
    for text in ("0", ".002", "0.004", "2 µm"):
        keyboard.type(text)
        keyboard.press("Tab")
    expect(live(sweeping)).to_contain_text("within")
    for _ in range(12):
        if sweeping.page.evaluate("document.activeElement.name") == "save":
            break
        keyboard.press("Tab")
    keyboard.press("Enter")
    sweeping.look("as found")
    assert Check.objects.get().up_um == pytest.approx(2)


def test_what_is_typed_in_inches_comes_back_digit_for_digit(sweeping):
    inch = sweeping.page.locator("#count-in")
    inch.click()
    expect(inch).to_have_attribute("aria-pressed", "true")
    readings = {0: "0", 90: ".0001", 180: "2 tenths", 270: ".0001"}
    for angle, text in readings.items():
        box(sweeping, angle).press_sequentially(text)
    expect(live(sweeping)).to_contain_text("within")
    sweeping.press("Save this sweep", "as found")
    sweeping.reads(*readings.values(), within=sweeping.part("Readings"))


def test_a_repeat_is_one_tap_away_and_counts_with_the_first(sweeping):
    for angle, text in {0: "0", 90: "-0.005", 180: "0", 270: "0.005"}.items():
        box(sweeping, angle).press_sequentially(text)
    sweeping.page.locator(".setup > summary").click()
    sweeping.page.get_by_role("button", name="Repeat this sweep").click()
    second = sweeping.page.get_by_label("Sweep 2", exact=True)
    for angle, text in {0: "0", 90: "-0.001", 180: "0", 270: "0.001"}.items():
        second.get_by_label(re.compile(rf"Reading at {angle}°")).press_sequentially(text)
    expect(live(sweeping)).to_contain_text("Repeats scatter by")
    sweeping.press("Save this sweep", "as found")
    expect(sweeping.page.get_by_text("Sweep 2", exact=True)).to_be_visible()
    assert Check.objects.get().value_um == pytest.approx(3)
