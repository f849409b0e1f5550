"""A year planned by the owner, a visit agreed upon, and the calendar by keyboard and as a file."""

import re
from datetime import UTC, datetime, time, timedelta

import pytest
from django.utils import timezone
from icalendar import Calendar

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.services import save_check
from machines.planning.models import Plan
from shop.visits.models import Visit
from shop.visits.services import sign_visit
from shop.web.wording import day_text
from tests.browser.walker import Walker
from tests.factories import five_station_machine, typed_sweep

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WHAT = "Check the alignment of the whole chain"
DAYS_SINCE_CHECKED = 170  # of half a year: due within the next weeks


@pytest.fixture
def fleet(shop):
    """Six machines of the shop."""
    return [five_station_machine(shop, number=f"M{number}") for number in range(1, 7)]


def a_monday_ahead(shop):
    day = timezone.localdate(timezone=shop.zone) + timedelta(days=7)
    return day + timedelta(days=-day.weekday() % 7)


def plan_the_year(owner, fleet):
    """From the page of what is due: one form for all six machines."""
    owner.go("/due/", "Due").follow("Plan work", "Plan work at")
    owner.follow(WHAT, "Plan work at")
    for machine in fleet:
        owner.tick(re.compile(rf"Machine {machine.number} slider"))
    owner.fill("Every so many", "6")
    since = timezone.localdate(timezone=fleet[0].shop.zone) - timedelta(days=DAYS_SINCE_CHECKED)
    owner.fill("The first time counts from", since.isoformat())
    owner.fill("Expected cost each time", "480")
    owner.press("Make the plan", "Due").reads("6 plans made.")


def propose(owner, shop, machine):
    owner.follow("Calendar", "20").follow("Propose a visit", "Propose a visit to")
    owner.fill("Day that suits", a_monday_ahead(shop).isoformat())
    owner.fill("Another day, 2", "").fill("Another day, 3", "")
    owner.page.get_by_label("From").first.fill("08:00")
    owner.page.get_by_label("Until").first.fill("12:00")
    owner.tick(re.compile(rf"Machine {machine.number}:"))
    owner.press("Propose the visit", "Planned checks").reads("waiting for the contractor")


def accept(contractor):
    contractor.go("/", "Today").follow(re.compile("^Answer"), "Planned checks")
    contractor.press("Accept this day", "Visit").reads("planned")
    return Visit.objects.get()


def tab_to(page, name):
    """Go on with the tab key until a link called so has the focus."""
    for _ in range(120):
        page.keyboard.press("Tab")
        if name in page.evaluate("document.activeElement.textContent"):
            return
    pytest.fail(f"the tab key never comes to {name!r}")


def see_the_visit_by_keyboard(owner, visit):
    """No mouse: from this month's sheet to the visit's own."""
    page = owner.page
    owner.go("/calendar/", f"{timezone.localdate(timezone=visit.shop.zone):%B %Y}")
    while not page.get_by_role("link", name=visit.number).count():
        before = page.url
        tab_to(page, "Month after")
        page.keyboard.press("Enter")
        page.wait_for_url(lambda url, before=before: url != before)
    tab_to(page, visit.number)
    page.keyboard.press("Enter")
    owner.look(visit.number)


def feed_file(contractor):
    """The file behind the contractor's private address, fetched by a program that is signed in
    nowhere."""
    contractor.go("/calendar/", "20").follow("In my own calendar program", "The calendar in my own")
    contractor.press("Make my address", "The calendar in my own")
    address = contractor.page.get_by_role("textbox", name="Address").input_value()
    program = contractor.page.context.browser.new_context()
    try:
        return program.request.get(address).body()
    finally:
        program.close()


def starts_in(content):
    """{title: start} of a calendar file, read by a parser of its own; lines fold at 75 octets
    (RFC 5545 3.1)."""
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    events = Calendar.from_ical(content).walk("VEVENT")
    return {str(event["summary"]): event["dtstart"].dt for event in events}


def check_and_sign(visit, machine):
    for item in AcceptanceItem.objects.filter(sheet__machine=machine):
        save_check(
            visit=visit,
            item=item,
            phase="as found",
            sweep=typed_sweep(1, 1),
            made_by=visit.contractor,
        )
    sign_visit(visit, contractor=("A", "service"), customer=("B", "owner"))


def test_a_year_is_planned_a_visit_agreed_on_and_a_check_sets_its_next_day(
    window, owner, contractor, shop, fleet, settings
):
    settings.BEFORE_SIGNING = []
    at_desk, on_the_road = Walker(window(), owner), Walker(window(), contractor)
    at_desk.sign_in()
    plan_the_year(at_desk, fleet)
    assert Plan.objects.count() == 6
    propose(at_desk, shop, fleet[0])

    on_the_road.sign_in()
    visit = accept(on_the_road)
    see_the_visit_by_keyboard(at_desk, visit)

    monday = datetime.combine(a_monday_ahead(shop), time(8), tzinfo=shop.zone)
    assert monday.astimezone(UTC) in starts_in(feed_file(on_the_road)).values()

    check_and_sign(visit, fleet[0])
    closed = Plan.objects.get(machine=fleet[0]).closings.get()
    at_desk.go(closed.plan.get_absolute_url(), WHAT)
    half_a_year_on = timezone.localdate(timezone=shop.zone) + timedelta(days=178)
    due = re.compile(r"(\d+ \w{3} \d{4})")
    row = at_desk.page.locator(".due-row").first
    shown = due.search(row.inner_text())[1]
    assert datetime.strptime(shown, "%d %b %Y").date() > half_a_year_on, day_text(half_a_year_on)

    year = closed.due_on.year
    at_desk.go(f"/shops/{shop.pk}/year/?year={year}", f"{year} at").reads("€2,880.00")


def test_closed_days_and_clashes_are_said_before_a_day_is_accepted(
    window, owner, contractor, shop, firm, machine
):
    monday = a_monday_ahead(shop)
    at_desk, on_the_road = Walker(window(), owner), Walker(window(), contractor)
    on_the_road.sign_in()
    on_the_road.go(f"/shops/{shop.pk}/visits/plan/", "Plan a visit")
    on_the_road.fill("Day", monday.isoformat()).fill("From", "09:00").fill("Until", "11:00")
    on_the_road.fill("What the visit is for", "bar feeder").press("Plan the visit", "Visit")

    at_desk.sign_in()
    at_desk.go(f"/shops/{shop.pk}/proposals/new/", "Propose a visit to")
    at_desk.fill("What the visit is for", "a look at the belts")
    at_desk.fill("Day that suits", monday.isoformat())
    at_desk.fill("Another day, 2", (monday + timedelta(days=1)).isoformat())
    at_desk.press("Propose the visit", "a look at the belts")
    proposed = at_desk.page.url
    at_desk.go(f"/shops/{shop.pk}/closed-days/", "Closed days")
    at_desk.fill("First day closed", (monday + timedelta(days=1)).isoformat())
    at_desk.fill("Why", "works holiday").press("Save these days", "Closed days")

    on_the_road.go(proposed, "a look at the belts").reads("clash", "works holiday")
