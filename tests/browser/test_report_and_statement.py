"""The contractor leaves with report and statement, made from what was recorded during the visit."""

import re
from datetime import datetime, time, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from machines.drive.inspecting import inspect_belt
from machines.drive.recommending import take_step
from machines.visit_work.services import add_machine_to_visit
from shop.billing.models import Statement
from shop.paper.models import Document
from shop.visits.models import Signature
from shop.visits.services import arrive
from tests.browser.walker import Walker
from tests.factories import RateFactory, TaxCategoryFactory
from tests.papers import words_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def prices(firm, machine):
    """88 an hour whatever the day, 20 % on parts, 20 % tax; the belt costs 48.50."""
    firm.parts_markup_percent = Decimal(20)
    firm.save()
    tax = TaxCategoryFactory(firm=firm)
    for kind in ("normal", "overtime", "weekend"):
        RateFactory(firm=firm, tax=tax, kind=kind)
    part = machine.belts.get(name="guide bushing belt").part
    part.price = Decimal("48.50")
    part.save()


@pytest.fixture
def visited(visit, machine, contractor, owner, prices, settings):
    """The contractor is there; two teeth are damaged and the owner approved a new belt."""
    settings.BEFORE_SIGNING = []
    visit = arrive(visit)
    add_machine_to_visit(visit, machine)
    belt = machine.belts.get(name="guide bushing belt")
    inspect_belt(belt=belt, visit=visit, made_by=contractor, teeth={17: "marked", 18: "marked"})
    take_step(machine.recommendations.get(), "approved", made_by=owner)
    return visit


def test_the_contractor_leaves_with_report_and_statement(
    window, live_server, visited, shop, contractor
):
    at_work = Walker(window(), contractor).sign_in()
    fit_the_belt(at_work, visited)
    enter_the_time(at_work, visited, shop)
    sign_by_hand(at_work, visited)
    issue_the_statement(at_work)
    read_both_papers(at_work, visited)


def fit_the_belt(contractor, visit):
    """Part, quantity and visit stand there already; only the lot is typed."""
    contractor.go(visit.get_absolute_url(), "Visit ")
    contractor.follow("Replace the guide bushing belt", "Replace the guide bushing belt")
    chosen = contractor.page.get_by_label("Part fitted").locator("option:checked")
    expect(chosen).to_contain_text("GB-60")
    contractor.fill("Its serial or lot number", "lot 42").tick("it was worn past use")
    contractor.press("Mark it fitted").reads("lot 42")


def enter_the_time(contractor, visit, shop):
    """Two and a half hours of yesterday, in the shop's time."""
    day = timezone.localdate(timezone=shop.zone) - timedelta(days=1)
    contractor.go(visit.get_absolute_url(), "Visit ")
    contractor.follow("See and correct times", "Times of visit")
    for label, at in (("From", time(8)), ("Until", time(10, 30))):
        moment = datetime.combine(day, at)
        contractor.page.get_by_label(label, exact=True).fill(f"{moment:%Y-%m-%dT%H:%M}")
    contractor.press("Enter the time", "Times of visit")


def sign_by_hand(contractor, visit):
    contractor.go(visit.get_absolute_url(), "Visit ")
    contractor.follow("Sign the visit", "Sign visit")
    page = contractor.page
    for pad in page.locator(".sign-pad canvas").all():
        pad.scroll_into_view_if_needed()
        box = pad.bounding_box()
        page.mouse.move(box["x"] + 20, box["y"] + 20)
        page.mouse.down()
        page.mouse.move(box["x"] + 120, box["y"] + 60, steps=6)
        page.mouse.up()
    page.get_by_role("textbox", name="Name").nth(1).fill("Tom Quill")
    page.get_by_role("textbox", name="Role").nth(1).fill("owner")
    contractor.tick(re.compile("Both have read"))
    contractor.press("Sign and issue the report", "Visit ")
    assert all(signature.strokes for signature in Signature.objects.all())


def issue_the_statement(contractor):
    """The lines stand there from the clock and the fitting: nothing is typed."""
    contractor.follow("See the 2 lines to charge", "Charges of visit")
    contractor.reads("2.5 h", "part GB-60", "€220.00", "€58.20", "€333.84")
    contractor.press("Issue the statement", "Statement ST-")
    contractor.reads("€333.84")


def read_both_papers(contractor, visit):
    """Both are stored, are handed out as stored, and say what was recorded."""
    statement = Statement.objects.get()
    said = {
        "service report": ["lot 42", "Replace the guide bushing belt", "Tom Quill", "tooth 17"],
        "statement": [statement.number, "2.5 h", "€88.00", "GB-60", "€58.20", "€333.84"],
    }
    for kind, words in said.items():
        document = Document.objects.get(kind=kind)
        answer = contractor.page.request.get(document.get_absolute_url())
        assert answer.body() == document.file.read()
        text = words_of(answer.body())
        for one in [*words, document.code, "Oldbridge Spindle Service", "Alder Screw Works"]:
            assert one in text, one
    contractor.go(visit.get_absolute_url(), "Visit ")
    contractor.reads(statement.number, within=contractor.part("Charges"))
