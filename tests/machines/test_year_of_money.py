"""What a shop's year costs: statements and credit notes, accepted quotes, approved parts."""

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from machines.drive.inspecting import inspect_belt
from machines.drive.models import RecommendationStep
from machines.drive.recommending import take_step
from machines.planning.year import year_of
from shop.billing import quotes, services
from shop.billing.credit_notes import issue_credit_note
from shop.people.models import Role
from shop.visits.services import sign_visit
from tests.factories import (
    FirmFactory,
    MembershipFactory,
    RateFactory,
    TaxCategoryFactory,
    UserFactory,
    at,
)

APPROVED = RecommendationStep.State.APPROVED
NAMES = {"contractor": ("A", "service"), "customer": ("B", "owner")}


@pytest.fixture
def tax(firm):
    firm.refresh_from_db()
    return TaxCategoryFactory(firm=firm)


@pytest.fixture
def statement(visit, contractor, tax, settings):
    """120 and 20 % tax, issued on 10 March 2025."""
    settings.BEFORE_SIGNING = settings.AFTER = []
    signed = sign_visit(visit, **NAMES)
    services.add_charge(
        signed, made_by=contractor, text="call-out", price=Decimal(120), quantity=1, tax=tax
    )
    return services.issue_statement(signed, made_by=contractor, at=at(10))


@pytest.fixture
def rival(shop):
    """A contractor of another firm that serves the same shop."""
    user = UserFactory(username="rival")
    MembershipFactory(user=user, shop=shop, role=Role.CONTRACTOR, firm=FirmFactory(name="Other"))
    return user


@pytest.fixture
def advice(machine, operator, firm, tax):
    """A belt to replace: its part costs 40."""
    RateFactory(firm=firm, tax=tax)
    belt = machine.belts.get(name="guide bushing belt")
    belt.part.price, belt.part.fitting_h = Decimal(40), Decimal(1)
    belt.part.save()
    inspect_belt(belt=belt, made_by=operator, teeth={3: "marked", 4: "marked"})
    return machine.recommendations.get()


@pytest.fixture
def quote(shop, firm, contractor, advice):
    """A quote of 40 for the belt and 88 for an hour."""
    offered = [
        quotes.Priced(one, one.part_price, one.hours) for one in quotes.quotables(shop, firm)
    ]
    return quotes.issue_quote(shop=shop, firm=firm, made_by=contractor, offered=offered)


@pytest.fixture
def accepted(owner, quote):
    quotes.answer_quote(quote, {quote.items.get().pk: (True, "")}, made_by=owner)
    return quote


def by_month(shop, name, viewer, year):
    months = year_of(shop, year, viewer).months
    return {month.first.month: getattr(month, name) for month in months if getattr(month, name)}


def test_a_statement_is_spent_in_its_month_without_tax(shop, owner, statement):
    assert by_month(shop, "spent", owner, 2025) == {3: Decimal("120.00")}


def test_what_was_credited_is_not_spent(shop, owner, contractor, statement):
    issue_credit_note(statement, made_by=contractor, reason="priced wrongly", at=at(20))
    assert by_month(shop, "spent", owner, 2025) == {}


def test_another_firm_s_contractor_does_not_see_what_this_one_charged(shop, rival, statement):
    assert by_month(shop, "spent", rival, 2025) == {}


def test_an_accepted_quote_is_planned_on_the_day_of_its_visit(shop, contractor, owner, accepted):
    quotes.plan_accepted_work(accepted, made_by=contractor, planned_for=date(2031, 5, 6))
    assert by_month(shop, "planned_cost", owner, 2031) == {5: Decimal("128.00")}


def test_an_accepted_quote_without_a_day_counts_when_it_was_accepted(shop, owner, accepted):
    today = timezone.localdate(accepted.items.get().answer.made_at, timezone=shop.zone)
    assert by_month(shop, "planned_cost", owner, today.year) == {today.month: Decimal("128.00")}


def test_a_quote_that_was_not_accepted_is_not_planned(shop, owner, quote):
    today = timezone.localdate(timezone=shop.zone)
    assert by_month(shop, "planned_cost", owner, today.year) == {}


def test_a_part_approved_without_a_quote_is_planned_at_its_price(shop, owner, advice):
    take_step(advice, APPROVED, made_by=owner, made_at=at(12))
    assert by_month(shop, "planned_cost", owner, 2025) == {3: Decimal("40.00")}


def test_a_part_wanted_by_a_day_is_planned_on_that_day(shop, owner, advice):
    advice.urgency, advice.by_date = advice.Urgency.BY_DATE, date(2025, 8, 1)
    advice.save()
    take_step(advice, APPROVED, made_by=owner, made_at=at(12))
    assert by_month(shop, "planned_cost", owner, 2025) == {8: Decimal("40.00")}


def test_an_approval_that_was_carried_over_counts_once(shop, owner, operator, machine, advice):
    take_step(advice, APPROVED, made_by=owner, made_at=at(12))
    belt = machine.belts.get(name="guide bushing belt")
    inspect_belt(belt=belt, made_by=operator, teeth={3: "marked", 4: "marked", 5: "marked"})
    assert machine.recommendations.count() == 2
    assert by_month(shop, "planned_cost", owner, 2025) == {3: Decimal("40.00")}


def test_the_page_shows_both_with_their_currency(client, shop, owner, statement):
    client.force_login(owner)
    page = client.get(reverse("machines:year", args=[shop.pk]), {"year": 2025}).text
    assert "€120.00" in " ".join(page.split())
