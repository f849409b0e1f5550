"""What a phone shows and keeps of its own: pages from then, a stop nobody has heard of, half a
form, a sweep worked out without a server, and what is left of it all after signing out."""

import json
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from alignment.sweeps.models import Check
from machines.drive.models import BeltInspection
from machines.incidents.models import Incident
from machines.incidents.stopping import stop_machine
from tests.browser.phone import (
    arrive,
    label_of,
    log_a_hit,
    ready_offline,
    sign_out,
    wait_until,
    waits,
)
from tests.factories import PASSWORD, item_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KEPT_PAGES = "async () => (await (await caches.open('pages')).keys()).map((one) => one.url)"
STOPPED_HERE = "Machine M1 slider 20 mm: stopped, not sent yet"


def banner(page):
    return page.locator("[data-run-state].machine-banner")


def test_a_kept_page_says_from_when_it_is_and_no_old_state_looks_like_one_of_now(
    phone, operator, machine
):
    page = phone(operator, machine.get_absolute_url())
    expect(page.locator("#as-of")).to_be_hidden()
    assert "as of" not in banner(page).inner_text()
    ready_offline(page)
    page.goto(machine.get_absolute_url())
    expect(page.locator("#as-of")).to_contain_text(
        re.compile(r"As of \d\d:\d\d, not reached since")
    )
    expect(banner(page)).to_contain_text(re.compile(r"May run\s+as of \d\d:\d\d"))
    assert "grayscale" in banner(page).evaluate("state => getComputedStyle(state).filter")


def test_a_slow_server_shows_the_old_state_as_old(phone, operator, machine):
    """It was stopped since; the server takes longer to say so than anybody waits."""
    page = phone(operator, machine.get_absolute_url())
    ready_offline(page)
    page.context.set_offline(False)
    stop_machine(machine)
    held = []
    page.context.route(f"**{machine.get_absolute_url()}", lambda route: held.append(route))
    page.goto(machine.get_absolute_url())
    expect(banner(page)).to_contain_text("it may have changed")
    for route in held:
        route.abort()
    page.context.unroute_all()
    page.goto(machine.get_absolute_url())
    expect(banner(page)).to_contain_text("Stopped until looked at")
    expect(page.locator("#as-of")).to_be_hidden()


def test_a_stop_that_waits_is_shown_on_every_page_and_at_signing_out(phone, operator, machine):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    log_a_hit(page)
    expect(page.locator("#stops")).to_contain_text(STOPPED_HERE)
    page.goto(reverse("shop:waiting"))
    expect(page.locator("#stops")).to_contain_text(STOPPED_HERE)
    page.route("**/incidents/new/", lambda route: route.abort())
    page.context.set_offline(False)
    page.goto(machine.get_absolute_url())
    expect(page.locator("#stops")).to_contain_text(STOPPED_HERE)
    expect(banner(page)).to_have_attribute("data-stopped-here", "")
    sign_out(page)
    expect(page.get_by_role("dialog")).to_contain_text(STOPPED_HERE)
    page.get_by_role("button", name="Keep on this device and sign out").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Sign in")
    expect(page.locator("#stops")).to_contain_text(STOPPED_HERE)


def test_signing_out_leaves_no_page_and_nothing_half_typed_behind(phone, operator, machine):
    page = phone(operator, label_of(machine))
    wait_until(page, lambda: len(page.evaluate(KEPT_PAGES)) > 1)
    page.get_by_label("What was broken").fill("one insert")
    page.wait_for_timeout(400)
    sign_out(page)
    expect(page.get_by_role("heading", level=1)).to_contain_text("Sign in")
    wait_until(page, lambda: page.evaluate(KEPT_PAGES) == [])
    page.goto(label_of(machine))
    page.get_by_label("Username").fill(operator.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_label("What was broken")).to_have_value("")


def test_a_half_filled_log_survives_a_reload_and_is_gone_once_it_is_logged(
    phone, operator, machine
):
    page = phone(operator, label_of(machine))
    page.get_by_text("Stopped until looked at").click()
    page.get_by_label("What was broken").fill("one insert")
    page.wait_for_timeout(400)
    page.reload()
    expect(page.get_by_label("What was broken")).to_have_value("one insert")
    expect(page.get_by_role("radio", name="Stopped until looked at")).to_be_checked()
    expect(page.locator(".kept")).to_contain_text("is back")
    log_a_hit(page)
    arrive(page, Incident, 1)
    page.goto(label_of(machine))
    expect(page.get_by_label("What was broken")).to_have_value("")


def test_a_half_drawn_tooth_map_survives_a_reload(phone, operator, belt):
    page = phone(operator, reverse("machines:inspect_belt", args=[belt.pk]))
    page.get_by_role("button", name="Tooth 12:").click()
    page.wait_for_timeout(400)
    page.reload()
    expect(page.get_by_role("button", name="Tooth 12: damaged")).to_be_visible()
    page.get_by_role("button", name="Start afresh").click()
    expect(page.get_by_role("button", name="Tooth 12: sound")).to_be_visible()
    assert not BeltInspection.objects.exists()


def test_what_was_kept_says_when_it_went(phone, operator, machine):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    log_a_hit(page)
    expect(page.locator(".kept")).to_contain_text("not sent yet")
    page.context.set_offline(False)
    expect(page.locator(".kept")).to_contain_text("Sent at")
    page.locator(".kept").get_by_role("link", name="Open it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("at the sub-spindle")


def test_an_entry_that_waits_is_opened_and_corrected_and_arrives_once(phone, operator, machine):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    log_a_hit(page)
    page.goto(reverse("shop:waiting"))
    page.get_by_role("link", name="Open it").click()
    expect(page.get_by_role("radio", name="Hard: something bent")).to_be_checked()
    page.get_by_text("Touched: a scrape").click()
    page.get_by_role("button", name="Log it", exact=True).click()
    waits(page, 1)
    page.context.set_offline(False)
    arrive(page, Incident, 1)
    expect(page.locator("#queue")).to_be_hidden()
    assert Incident.objects.get().severity == "touch"


def test_two_that_waited_are_asked_about_once_they_arrive(phone, operator, machine):
    page = phone(operator, label_of(machine))
    ready_offline(page)
    log_a_hit(page)
    log_a_hit(page)
    waits(page, 2)
    page.context.set_offline(False)
    arrive(page, Incident, 2)
    page.goto(Incident.objects.latest("pk").get_absolute_url())
    page.get_by_role("button", name="Yes, join them").click()
    expect(page.get_by_text("Logged again by")).to_be_visible()
    assert Incident.objects.open().count() == 1


def test_a_label_opens_its_form_without_a_network_though_only_the_machine_was_seen(
    phone, operator, machine
):
    page = phone(operator, machine.get_absolute_url())
    ready_offline(page, reverse("alignment:log_incident", args=[machine.pk]))
    page.goto(label_of(machine))
    expect(page.get_by_role("heading", level=1)).to_have_text("Log what happened")


def test_a_sweep_is_worked_out_on_the_device_until_the_server_has_it(
    phone, contractor, machine, visit
):
    item = item_of(machine, "guide bushing")
    address = reverse("alignment:sweep", args=[visit.pk, item.pk])
    page = phone(contractor, address)
    page.get_by_role("button", name="I have read it").click()
    ready_offline(page)
    for angle, typed in {0: "12 µm", 90: "-.019", 180: "12- mic", 270: ".019"}.items():
        page.get_by_label(re.compile(rf"Reading at {angle}°")).fill(typed)
    expect(page.locator(".move")).to_contain_text("Worked out on this device")
    expect(page.locator(".glance .verdict")).to_contain_text("outside")
    expect(page.locator(".glance")).to_contain_text(re.compile(r"front 0\.0190?\s+down 0\.0120?"))
    expect(page.locator(".strip")).to_contain_text("Tolerance 0.01 mm")
    here = page.locator(".glance-figure").inner_text()
    page.wait_for_timeout(400)
    page.reload()
    expect(page.get_by_label(re.compile("Reading at 90°"))).to_have_value("-.019")
    page.get_by_role("button", name="Save this sweep").click()
    expect(page.locator(".kept")).to_contain_text(
        f"Worked out on this device: Offset of the axis {here}"
    )
    page.context.set_offline(False)
    arrive(page, Check, 1)
    page.goto(Check.objects.get().get_absolute_url())
    expect(page.locator(".result.main .number").first).to_have_text(here)
    expect(page.locator(".verdict").first).to_contain_text("outside")


def test_the_site_can_be_put_on_the_home_screen(phone, operator, machine):
    page = phone(operator, "/")
    address = page.locator("link[rel=manifest]").get_attribute("href")
    manifest = json.loads(page.request.get(address).text())
    assert manifest["start_url"] == reverse("shop:home")
    assert label_of(machine).startswith(manifest["scope"])
    assert manifest["display"] == "standalone"
    sizes = {icon["sizes"]: page.request.get(icon["src"]) for icon in manifest["icons"]}
    assert {"192x192", "512x512"} <= set(sizes)
    assert all(icon.headers["content-type"] == "image/png" for icon in sizes.values())


def test_a_draft_of_days_ago_is_not_brought_back(phone, operator, machine):
    page = phone(operator, label_of(machine))
    page.clock.set_fixed_time(timezone.now() - timedelta(days=4))
    page.get_by_label("What was broken").fill("one insert")
    page.wait_for_timeout(400)
    page.clock.set_fixed_time(timezone.now())
    page.reload()
    page.wait_for_timeout(400)
    expect(page.get_by_label("What was broken")).to_have_value("")
