"""At the machine with a phone: six taps and a photo, and no network to speak of."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from playwright.sync_api import expect

from alignment.sweeps.models import Check
from machines.drive.models import BeltInspection
from machines.incidents.models import Incident
from tests.browser.phone import (
    SETTLED_MS,
    arrive,
    label_of,
    log_a_hit,
    photo,
    ready_offline,
    sign_out,
    wait_until,
    waits,
)
from tests.browser.walker import TOO_WIDE
from tests.factories import PASSWORD, item_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_crash_is_logged_from_the_label_in_six_taps_and_a_photo(phone, operator, machine):
    page = phone(operator, label_of(machine))
    expect(page.get_by_role("heading", level=1)).to_have_text("Log what happened")
    assert page.evaluate(TOO_WIDE) <= 0
    page.get_by_label("Photos").set_input_files(photo())
    thumb = log_a_hit(page)
    expect(page.get_by_role("heading", level=1)).to_contain_text("at the sub-spindle")
    assert thumb.taps == 6
    incident = Incident.objects.get()
    assert (incident.movement, incident.severity, incident.may_run) == ("X2 plus", "hard", False)
    with Image.open(incident.photos.get().image) as kept:
        assert max(kept.size) <= 1600
        assert not kept.getexif()


def test_two_logged_without_a_network_arrive_once_each_when_it_is_back(phone, operator, machine):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    log_a_hit(page)
    waits(page, 1)
    page.get_by_label("Photos").set_input_files(photo())
    log_a_hit(page, "guide bushing housing")
    waits(page, 2)
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_have_text("Log what happened")
    waits(page, 2)
    assert not Incident.objects.exists()
    page.context.set_offline(False)
    expect(page.locator("#queue")).to_be_hidden()
    arrived = Incident.objects.order_by("pk")
    assert [one.place for one in arrived] == ["sub-spindle", "guide bushing housing"]
    assert [one.photos.count() for one in arrived] == [0, 1]
    page.reload()
    page.wait_for_timeout(SETTLED_MS)
    assert Incident.objects.count() == 2


def test_a_crash_logged_without_a_network_becomes_a_visit_with_the_checks_in_order(
    phone, operator, contractor, machine
):
    """Six taps and a photo; checking begins at the headstock, the station least likely to have
    moved (common practice, no source), and goes out along the chain."""
    page = phone(operator, label_of(machine))
    ready_offline(page)
    page.get_by_label("Photos").set_input_files(photo())
    assert log_a_hit(page).taps == 6
    waits(page, 1)
    page.context.set_offline(False)
    arrive(page, Incident, 1)
    incident = Incident.objects.get()
    assert incident.photos.count() == 1

    called = phone(contractor, incident.get_absolute_url())
    called.get_by_role("link", name="Open a visit for it").click()
    called.get_by_role("button", name="Open the visit").click()
    listed = called.locator("ol.check-list > li > strong")
    expect(listed.first).to_have_text("Headstock spindle")
    shown = [name.lower() for name in listed.all_text_contents()]
    assert len(shown) >= 3
    outward = [station.name for station in machine.stations.order_by("position")]
    assert shown == [name for name in outward if name in shown]


def test_the_label_opens_without_a_network_once_it_was_opened(phone, operator, machine):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    page.goto(label_of(machine))
    expect(page.get_by_role("heading", level=1)).to_have_text("Log what happened")


def test_a_server_that_dies_in_mid_send_still_gets_it_exactly_once(phone, operator, machine):
    """The server takes the entry, and the answer never arrives."""
    page = phone(operator, label_of(machine))
    died = []

    def die(route):
        if route.request.method == "POST" and not died:
            died.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    page.route("**/incidents/new/", die)
    log_a_hit(page)
    waits(page, 1)
    wait_until(page, lambda: died == [200])
    assert Incident.objects.count() == 1
    page.reload()
    page.wait_for_timeout(SETTLED_MS)
    expect(page.locator("#queue")).to_be_hidden()
    assert Incident.objects.count() == 1


def test_a_server_that_cannot_take_it_or_is_gone_gets_it_once_it_is_back(phone, operator, machine):
    """First it answers that it cannot, then the line is cut before it hears anything."""
    page = phone(operator, label_of(machine))
    tries = []

    def fail(route):
        if route.request.method != "POST" or len(tries) == 2:
            route.continue_()
            return
        tries.append(route.request.url)
        if len(tries) == 1:
            route.fulfill(status=503)
        else:
            route.abort("connectionreset")

    page.route("**/incidents/new/", fail)
    log_a_hit(page)
    expect(page.locator(".kept")).to_contain_text("not sent yet")
    page.reload()
    wait_until(page, lambda: len(tries) == 2)
    waits(page, 1)
    assert not Incident.objects.exists()
    page.reload()
    arrive(page, Incident, 1)
    expect(page.locator("#queue")).to_be_hidden()


def test_an_entry_the_server_refuses_stays_with_its_reason_until_it_is_put_right(
    phone, operator, machine
):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    page.get_by_label("Offset seen afterwards").fill("about a hair")
    log_a_hit(page)
    waits(page, 1)
    page.context.set_offline(False)
    expect(page.locator("#queue")).to_contain_text("1 entry was refused")
    page.get_by_role("link", name="Show them").click()
    row = page.locator("[data-queue-rows] > li").first
    expect(row).to_contain_text("What happened at machine M1")
    expect(row).to_contain_text("about a hair")
    row.get_by_role("link", name="Put it right").click()
    expect(page.get_by_label("Offset seen afterwards")).to_have_value("about a hair")
    page.get_by_label("Offset seen afterwards").fill("5 thou")
    page.get_by_role("button", name="Log it", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("at the sub-spindle")
    assert Incident.objects.get().offset_seen_typed == "5 thou"
    expect(page.locator("#queue")).to_be_hidden()


def test_a_refused_entry_can_be_thrown_away_but_not_by_one_tap(phone, operator, machine):
    page = phone(operator, label_of(machine))
    page.get_by_label("Offset seen afterwards").fill("about a hair")
    log_a_hit(page)
    expect(page.get_by_role("alert")).to_contain_text("about a hair")
    page.goto(reverse("shop:waiting"))
    page.get_by_role("button", name="Throw it away").click()
    expect(page.locator("[data-queue-rows] > li")).to_have_count(1)
    page.get_by_role("button", name="Throw it away for good").click()
    page.get_by_text("Nothing waits").wait_for()
    assert not Incident.objects.exists()


def test_what_waits_is_sent_only_for_whoever_entered_it(phone, operator, owner, machine):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    log_a_hit(page)
    waits(page, 1)
    page.context.clear_cookies()
    page.context.set_offline(False)
    page.goto(reverse("shop:sign_in"))
    page.get_by_label("Username").fill(owner.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    waits(page, 1)
    page.wait_for_timeout(SETTLED_MS)
    assert not Incident.objects.exists()
    sign_out(page)
    page.get_by_role("button", name="Keep on this device and sign out").click()
    page.get_by_label("Username").fill(operator.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    arrive(page, Incident, 1)
    assert Incident.objects.get().made_by == operator


def test_the_tooth_map_works_without_a_network(phone, operator, machine):
    """Opened from the log form alone: its page stands ready before anybody went there."""
    belt = machine.belts.get(name="guide bushing belt")
    page = phone(operator, label_of(machine))
    address = reverse("machines:inspect_belt", args=[belt.pk])
    ready_offline(page, address)
    page.get_by_role("link", name="Guide bushing belt").click()
    page.get_by_role("button", name="Tooth 12:").click()
    page.get_by_role("button", name="Save the inspection").click()
    waits(page, 1)
    page.context.set_offline(False)
    expect(page.locator("#queue")).to_be_hidden()
    assert BeltInspection.objects.get().conditions() == {12: "marked"}


def test_a_sweep_is_entered_without_a_network(phone, contractor, machine, visit):
    item = item_of(machine, "guide bushing")
    page = phone(contractor, reverse("alignment:sweep", args=[visit.pk, item.pk]))
    page.get_by_role("button", name="I have read it").click()
    ready_offline(page)
    for angle, typed in {0: "12 µm", 90: "-.019", 180: "-0.012", 270: ".019"}.items():
        page.get_by_label(re.compile(rf"Reading at {angle}°")).fill(typed)
    page.get_by_role("button", name="Save this sweep").click()
    waits(page, 1)
    assert not Check.objects.exists()
    page.context.set_offline(False)
    arrive(page, Check, 1)
    assert Check.objects.get().verdict == "outside"


def test_a_log_kept_overnight_says_when_it_happened_not_when_it_was_sent(phone, operator, machine):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    page.clock.set_fixed_time(timezone.now() - timedelta(hours=9))
    log_a_hit(page)
    waits(page, 1)
    page.clock.set_fixed_time(timezone.now())
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#queue")).to_be_hidden()
    age = timezone.now() - Incident.objects.get().happened_at
    assert timedelta(hours=8, minutes=50) < age < timedelta(hours=9, minutes=10)
