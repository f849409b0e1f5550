"""The instrument on a phone of 360 × 640: one screen, its own keys, nothing that scrolls."""

import pytest
from playwright.sync_api import expect

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Check
from machines.incidents.stopping import stop_machine
from machines.visit_work.services import add_machine_to_visit
from tests.browser.hand import Hand
from tests.browser.walker import Walker
from tests.factories import item_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SMALL = {"width": 360, "height": 640}
WHERE_BOXES_STAND = """() => [...document.querySelectorAll('[data-reading]')]
    .map(box => { const at = box.getBoundingClientRect(); return [at.x, at.y]; })"""


@pytest.fixture
def phone(browser, live_server, contractor):
    """The contractor's phone, signed in."""
    context = browser.new_context(
        viewport=SMALL, has_touch=True, is_mobile=True, base_url=live_server.url
    )
    page, errors = context.new_page(), []
    page.on("pageerror", lambda error: errors.append(str(error)))
    Walker(page, contractor).sign_in()
    yield page
    context.close()
    assert errors == []


@pytest.fixture
def hand(phone, visit, machine):
    """A thumb on the sweep of the guide bushing's bore, which tells in millimetres."""
    add_machine_to_visit(visit, machine)
    hand = Hand(phone, touches=True).open(visit, item_of(machine, "guide bushing"))
    return hand.understand()


def values(page):
    return [box.input_value() for box in page.locator("[data-reading]").all()]


def test_four_readings_in_tenths_are_fourteen_presses_at_most(hand):
    hand.taps = 0
    hand.count_in("tenths").read("0", "11", "8", "-3").sees("outside").sees_all_at_once()
    assert hand.presses + hand.taps <= 14
    hand.save()
    assert Check.objects.filter(typed_with=None).count() == 1


def test_nothing_moves_as_the_result_lands(hand):
    before = hand.page.evaluate(WHERE_BOXES_STAND)
    hand.count_in("tenths").read("0", "11", "8", "-3").sees("outside")
    assert hand.page.evaluate(WHERE_BOXES_STAND) == before


def test_no_keyboard_of_the_phone_opens(hand):
    assert {
        box.get_attribute("inputmode") for box in hand.page.locator("[data-reading]").all()
    } == {"none"}


def test_five_lines_are_swept_without_a_scroll(hand, visit, machine):
    lines = AcceptanceItem.objects.in_force().filter(sheet__machine=machine)
    for item in lines.filter(surface__in=["bore", "boss"])[:5]:
        hand.open(visit, item).sees_all_at_once()


def test_eight_readings_and_a_stopped_machine_fit_as_well(hand, visit, machine, contractor):
    stop_machine(machine, by=contractor)
    hand.open(visit, item_of(machine, "guide bushing")).sees_all_at_once()
    hand.tap(hand.page.locator(".setup > summary"))
    hand.tap(hand.page.locator("#layout-8"))
    expect(hand.page.locator("[data-reading]")).to_have_count(8)
    hand.sees_all_at_once()


def test_a_slip_of_unit_is_read_anew_with_one_tap(hand):
    hand.read("0", "3", "0.004", "0")
    hand.tap(hand.page.get_by_role("button", name="3 µm"))
    expect(hand.page.locator("[data-reading]").nth(1)).to_have_value("3 µm")
    expect(hand.page.locator(".doubt")).to_have_count(0)


def test_numbers_typed_in_another_unit_are_asked_about_and_kept(hand):
    hand.read("0", "0.011", "0.004", "0").count_in("um")
    hand.tap(hand.page.get_by_role("button", name="0.011 mm, as typed"))
    expect(hand.page.locator("#count-um")).to_have_attribute("aria-pressed", "true")
    assert values(hand.page) == ["0 mm", "0.011 mm", "0.004 mm", "0 mm"]


def test_the_sign_may_be_put_right_before_the_number_is_typed_anew(hand):
    hand.read("5").read("-3")
    hand._press("<<")
    hand._press("-7")
    assert values(hand.page)[:2] == ["-7", "-3"]


class TestAtADesk:
    """An indicator that types, and a keyboard."""

    @pytest.fixture
    def desk(self, browser, live_server, contractor, visit, machine):
        context = browser.new_context(
            viewport={"width": 1280, "height": 900}, base_url=live_server.url
        )
        page = context.new_page()
        Walker(page, contractor).sign_in()
        add_machine_to_visit(visit, machine)
        hand = Hand(page, touches=False).open(visit, item_of(machine, "guide bushing"))
        yield hand.understand()
        context.close()

    def test_an_indicator_that_types_lands_a_reading_a_press(self, desk):
        for text in ("0,000", "0.002mm", "0.004 mm+", "+0,002"):
            desk.page.keyboard.type(text)
            desk.page.keyboard.press("Enter")
        assert values(desk.page) == ["0,000", "0.002mm", "0.004 mm+", "+0,002"]
        desk.sees("within")
        assert not Check.objects.exists()

    def test_a_last_enter_saves_where_that_was_asked_for(self, desk):
        desk.page.evaluate("localStorage.setItem('sweepbook-enter-saves', 'yes')")
        with desk.page.expect_event("load"):
            desk.read("0", "0.002", "0.004", "0.002")
        assert Check.objects.exists()

    def test_arrows_go_round_the_clock(self, desk):
        for key in ("ArrowDown", "ArrowDown", "ArrowUp"):
            desk.page.keyboard.press(key)
        assert desk.page.evaluate("document.activeElement.name") == "readings-1-reading"
