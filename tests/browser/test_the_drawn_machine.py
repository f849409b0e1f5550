"""The picture of a machine is the way in, and its page answers on the first screens."""

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from alignment.figures.machine import SIZES
from machines.incidents.models import Incident
from machines.register.models import Machine
from shop.sandbox.demo import make_demo
from shop.sandbox.demo.people import PASSWORD as DEMO_PASSWORD
from tests.browser.conftest import DESK, LONGEST_WAIT_MS
from tests.browser.walker import BROKEN_PICTURES, TOO_WIDE
from tests.factories import PASSWORD, station_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PHONE = {"width": 360, "height": 640}
# How many screens a machine's page may take before anything on it is opened.
MOST_SCREENS = [(DESK, 2), (PHONE, 5)]
HEIGHT = "() => document.documentElement.scrollHeight"
SMALLEST_PX = 12
# (the width a picture was drawn for, how much the page scales it) of each that shows.
DRAWN = """() => [...document.querySelectorAll(".drawn-machine img")]
    .map(image => [image.naturalWidth, image.getBoundingClientRect().width / image.naturalWidth])"""
FONTS = {form.width: form.font for form in SIZES.values()}


@pytest.fixture
def screen(browser, live_server):
    """Opens a page of the site at a size, somebody signed in."""
    contexts = []

    def opened(username, password, size):
        context = browser.new_context(viewport=size, base_url=live_server.url)
        context.set_default_timeout(LONGEST_WAIT_MS)
        contexts.append(context)
        page = context.new_page()
        page.goto("/")
        page.get_by_label("Username").fill(username)
        page.get_by_label("Password").fill(password)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_load_state("load")
        return page

    yield opened
    for context in contexts:
        context.close()


def test_a_machine_of_the_demo_answers_within_a_few_screens(screen):
    make_demo(timezone.now())
    for size, most in MOST_SCREENS:
        page = screen("contractor", DEMO_PASSWORD, size)
        for machine in Machine.objects.all():
            page.goto(machine.get_absolute_url())
            page.wait_for_load_state("load")
            assert page.evaluate(HEIGHT) <= most * size["height"], (str(machine), size)
            assert page.evaluate(TOO_WIDE) <= 0
            assert page.evaluate(BROKEN_PICTURES) == []
            for width, scale in page.evaluate(DRAWN):
                assert FONTS[width] * scale >= SMALLEST_PX, (str(machine), size)


def test_an_operator_logs_a_crash_by_tapping_the_machine(screen, machine, operator):
    page = screen(operator.username, PASSWORD, PHONE)
    page.goto(f"/machines/{machine.pk}/incidents/new/")
    sub = station_of(machine, "sub-spindle")
    box = page.locator(f'input[name="stations"][value="{sub.pk}"]')
    tap = page.locator(f'.taps .narrow label[for="{box.get_attribute("id")}"]')
    tap.click()
    expect(box).to_be_checked()
    expect(tap).to_have_class("ticked")
    for name, value in (("kind", "hit"), ("severity", "knock"), ("may_run", "no")):
        page.locator(f'input[name="{name}"][value="{value}"]').check()
    page.get_by_role("button", name="Log it").click()
    expect(page.get_by_role("heading", level=1)).not_to_contain_text("Log what happened")
    assert [hit.station for hit in Incident.objects.get().stations_hit.all()] == [sub]


def test_a_station_of_the_picture_leads_to_its_lines(screen, machine, owner):
    page = screen(owner.username, PASSWORD, DESK)
    page.goto(machine.get_absolute_url())
    sub = station_of(machine, "sub-spindle")
    link = page.locator(f'.taps .wide a[href="#station-{sub.pk}"]')
    link.focus()
    page.keyboard.press("Enter")
    expect(page).to_have_url(f"/machines/{machine.pk}/#station-{sub.pk}")
    expect(page.locator(f"#station-{sub.pk}")).to_be_in_viewport()
