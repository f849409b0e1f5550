"""The first day on an empty site, with the keyboard alone: who you are, the firm, a customer."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Check
from machines.register.models import Machine
from shop.billing.models import Statement
from shop.paper.models import Document
from shop.people.models import Firm, Shop, User
from shop.visits.models import Signature, Visit

from .keyboard import Keyboard

pytestmark = pytest.mark.browser
WORDS = "indicator-and-brass-drift"


def begin(keys):
    """A person and a firm; the browser knows its own time zone and country."""
    keys.open("/", "Begin")
    keys.fill("Your name", "Nell Rook").fill("Mail address", "nell@rook.example")
    keys.fill("Password", WORDS).fill("Password again", WORDS)
    keys.choose("a service firm")
    keys.fill("Its name", "Rook Alignment").fill("Its address", "4 Weighbridge Yard")
    keys.to("Country")
    keys.to("Time zone")
    return keys.press("Begin", "Today")


def add_customer(keys):
    keys.press("Add a customer", "Add a customer")
    keys.fill("Name", "Pintlow Works").fill("Address", "2 Sluice Lane")
    keys.fill("Phone", "555 0177")
    return keys.press("Add the customer", "Pintlow Works")


MOST_PAGES, MOST_FIELDS = 25, 90
LIMITS = ["0.0002", "0.0004", "0.0006", "0.0002", "0.0008", "±0.0008", "±0.0006"]
ANGLES = range(0, 360, 45)
# Readings in a bore whose centre lies 0.0005 in right of the axis: r = -e·sin θ, by hand, to the
# half tenth that a dial of 0.0001 in is read to.
RIGHT_BY_5_TENTHS = ["0", "-.00035", "-.0005", "-.00035", "0", ".00035", ".0005", ".00035"]
TRUE = ["0"] * 8


def add_machine(keys):
    keys.press("Add a machine", "Add a machine")
    keys.fill("Number", "7")
    keys.choose("Gang slide, guide bushing, sub-spindle")
    keys.press("Add the machine", "7 Gang slide")
    machine = Machine.objects.get()
    assert (machine.stations.count(), machine.belts.count()) == (5, 3)
    return keys


def type_its_limits(keys):
    keys.press("Type its limits", "Type an acceptance sheet")
    for number, limit in enumerate(LIMITS):
        keys.fill_box(f"lines-{number}-upper", limit)
    keys.press("Save the sheet", "Acceptance sheet")
    assert AcceptanceItem.objects.in_force().with_limit().count() == len(LIMITS)
    return keys.press("7 Gang slide", "7 Gang slide")


def log_the_crash(keys):
    keys.press("Log what happened", "Log what happened")
    keys.choose("Crash").tick("2 guide bushing housing")
    keys.choose("Hard").choose("Stopped until looked at")
    return keys.press("Log it", "guide bushing housing")


def sweep_five(keys):
    """The headstock spindle is true, the housing is not; each save leads to the next line."""
    keys.press("Open a visit for it", "Open a visit")
    keys.press("Open the visit", "Visit")
    heading = "Headstock spindle: run-out"
    keys.press("Next: Sweep as found", heading)
    keys.to("I have read it").page.keyboard.press("Enter")
    for number, readings in enumerate([TRUE, RIGHT_BY_5_TENTHS, TRUE, TRUE, TRUE]):
        for angle, reading in zip(ANGLES, readings, strict=True):
            keys.fill(f"Reading at {angle}°", reading)
        if number < 4:
            keys.press("Save, next", "")
    keys.press("Save this sweep", "as found")
    swept = Check.objects.filter(typed_with=None).order_by("item__position")
    verdicts = [check.verdict for check in swept]
    assert verdicts == ["within", "outside", "within", "within", "within"]
    return keys.press("Back to the visit", "Visit")


def sign(keys):
    """For both: the customer has no account and signs on the contractor's screen."""
    two_hours_pass()
    keys.press("Sign the visit", "Sign visit")
    keys.fill("What you come back for", "Housing to be brought back, gang slide to be swept.")
    keys.fill("Name", "Nell Rook")
    keys.fill("Name", "Tom Quill").fill("Role", "owner").tick("Both have read")
    keys.press("Sign and issue the report", "Visit")
    assert Signature.objects.count() == 2
    return keys


def two_hours_pass():
    """Work of a Wednesday morning, so that it is charged by the normal hour on any day."""
    today = timezone.now()
    wednesday = today - timedelta(days=today.weekday() + 5)
    Visit.objects.update(arrived_at=wednesday, left_at=wednesday + timedelta(hours=2))


def issue_the_statement(keys):
    keys.to("Charges").page.keyboard.press("Enter")
    keys.press("Enter charges", "Charges of visit")
    keys.fill("An hour of work costs", "96").fill("Tax on it", "Sales tax 5 %")
    keys.fill("Tax rate, %", "5").press("Save and charge by it", "Charges of visit")
    keys.press("Issue the statement", "Statement ST-")
    # By hand: 2 h of 96.00 are 192.00, 5 % of it 9.60.
    assert Statement.objects.get().gross == Decimal("201.60")
    return keys


def the_whole_day(keys):
    begin(keys)
    for step in (
        add_customer, add_machine, type_its_limits, log_the_crash, sweep_five, sign,
        issue_the_statement,
    ):  # fmt: skip
        step(keys)


@pytest.mark.django_db(transaction=True)
def test_the_first_day_leads_to_report_and_statement(window):
    """From an empty site, with the keyboard alone, within 25 pages and 90 boxes."""
    page = window(locale="en-US", timezone_id="America/Chicago")
    keys = Keyboard(page)
    visited = []
    page.on("load", lambda one: visited.append(one.url))

    the_whole_day(keys)

    assert set(Document.objects.values_list("kind", flat=True)) == {"service report", "statement"}
    assert keys.pages <= MOST_PAGES, (keys.pages, visited)
    assert keys.fields <= MOST_FIELDS, keys.fields
    assert not [url for url in visited if "/admin/" in url]


def test_a_firm_and_its_first_customer_are_there_within_a_few_keys(window):
    page = window(locale="en-US", timezone_id="America/Chicago")
    keys = Keyboard(page)

    begin(keys)
    assert Firm.objects.values_list("currency", "time_zone", "length_unit", "paper_size").get() == (
        "USD", "America/Chicago", "in", "Letter",
    )  # fmt: skip
    add_customer(keys)

    shop = Shop.objects.get()
    assert (shop.kept_by.name, shop.country, shop.length_unit) == ("Rook Alignment", "US", "in")
    assert User.objects.get().name == "Nell Rook"
    assert (keys.pages, keys.fields) <= (5, 11), (keys.pages, keys.fields)
    keys.to("Skip to the page")
    assert "/admin/" not in page.content()
