"""A phone shared at the machines: set up by the owner, opened by label and PIN, held to logging."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from shop.people.devices import services
from tests.browser.conftest import LONGEST_WAIT_MS, PHONE
from tests.browser.test_at_the_machine import label_of, log_a_hit, ready_offline, wait_until, waits
from tests.browser.walker import TOO_WIDE, Walker

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PIN = "4831"


@pytest.fixture
def shared(browser, live_server):
    """A phone nobody is signed in on."""
    context = browser.new_context(viewport=PHONE, base_url=live_server.url)
    context.set_default_timeout(LONGEST_WAIT_MS)
    yield context.new_page()
    context.close()


@pytest.fixture
def people(operator, owner):
    """Operator and owner with the same PIN, which is theirs to choose."""
    for person in (operator, owner):
        services.set_pin(person, PIN)


@pytest.fixture
def set_up(shared, people, shop, owner):
    """The phone made a shared device."""
    device = services.allow_device(shop=shop, name="phone at the bar loaders", made_by=owner)
    shared.goto(reverse("shop:device_set_up", args=[services.new_code(device)]))
    shared.get_by_role("button", name="Share this device").click()
    expect(shared.get_by_role("heading", level=1)).to_have_text("Who are you?")
    return shared


def tap_pin(page, person, pin=PIN):
    page.get_by_role("link", name=person.name, exact=True).click()
    for digit in pin:
        page.get_by_role("button", name=digit, exact=True).click()
    page.get_by_role("button", name="Go on").click()


def fits(page):
    assert page.evaluate(TOO_WIDE) <= 0


def test_the_owner_allows_a_phone_and_its_code_is_typed_there(window, shared, owner, people, shop):
    at_desk = Walker(window(), owner).sign_in()
    at_desk.go(reverse("shop:devices", args=[shop.pk]), "Shared devices of")
    at_desk.fill("Name of the device", "phone at the bar loaders")
    at_desk.press("Allow it and get its code", "Code for phone at the bar loaders")
    code = at_desk.page.locator(".code").inner_text()
    shared.goto(reverse("shop:device"))
    shared.get_by_label("Code").fill(code)
    shared.get_by_role("button", name="Go on").click()
    shared.get_by_role("button", name="Share this device").click()
    expect(shared.get_by_role("link", name=owner.name, exact=True)).to_be_visible()
    at_desk.go(reverse("shop:devices", args=[shop.pk]), "Shared devices of").reads("last used")


def test_a_label_opened_on_it_asks_for_name_and_pin_and_goes_on_to_the_machine(
    set_up, operator, machine
):
    set_up.goto(label_of(machine))
    fits(set_up)
    tap_pin(set_up, operator)
    expect(set_up.get_by_role("heading", level=1)).to_have_text("Log what happened")
    fits(set_up)
    log_a_hit(set_up)
    expect(set_up.get_by_text("What you logged just now")).to_be_visible()
    fits(set_up)
    assert machine.incidents.get().made_by == operator
    set_up.get_by_role("button", name="I am done").click()
    expect(set_up.get_by_role("heading", level=1)).to_have_text("Who are you?")


def test_a_pin_is_typed_on_a_keyboard_too(set_up, operator):
    set_up.get_by_role("link", name=operator.name, exact=True).press("Enter")
    expect(set_up.get_by_label("PIN")).to_be_focused()
    set_up.keyboard.type(PIN)
    set_up.keyboard.press("Enter")
    expect(set_up.get_by_role("heading", level=1)).to_have_text("At which machine?")


def test_the_next_person_may_take_over_without_the_first_being_done(set_up, operator, owner):
    tap_pin(set_up, operator)
    expect(set_up.get_by_role("heading", level=1)).to_have_text("At which machine?")
    set_up.goto(reverse("shop:device"))
    tap_pin(set_up, owner)
    expect(set_up.locator(".who-name")).to_have_text(owner.name)


def test_a_wrong_pin_is_said_and_the_box_is_empty_again(set_up, operator):
    tap_pin(set_up, operator, "9999")
    expect(set_up.get_by_text("4 more tries")).to_be_visible()
    expect(set_up.get_by_label("PIN")).to_have_value("")
    fits(set_up)


def test_what_one_logs_without_a_network_is_sent_for_them_and_for_nobody_else(
    set_up, operator, owner, machine
):
    set_up.goto(label_of(machine))
    tap_pin(set_up, operator)
    ready_offline(set_up)
    log_a_hit(set_up)
    waits(set_up, 1)
    set_up.context.clear_cookies(name="sessionid")
    set_up.context.set_offline(False)
    set_up.goto(reverse("shop:device"))
    tap_pin(set_up, owner)
    waits(set_up, 1)
    assert not machine.incidents.exists()
    set_up.get_by_role("button", name="I am done").click()
    set_up.get_by_role("button", name="Keep on this device and sign out").click()
    tap_pin(set_up, operator)
    wait_until(set_up, machine.incidents.exists)
    expect(set_up.locator("#queue")).to_be_hidden()
    assert machine.incidents.get().made_by == operator


def test_whoever_walks_away_is_signed_off(set_up, operator, machine):
    set_up.clock.install()
    tap_pin(set_up, operator)
    expect(set_up.get_by_role("heading", level=1)).to_have_text("At which machine?")
    set_up.clock.fast_forward("03:00")
    expect(set_up.get_by_role("heading", level=1)).to_have_text("Who are you?")
