"""Answers that came by phone, by mail or on paper: shown as told everywhere, open to objection."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from machines.drive.inspecting import inspect_belt
from machines.drive.models import Recommendation, RecommendationStep
from machines.planning import visit_planning
from shop.billing import quotes
from shop.calendar import services as planning
from shop.calendar.times import Slot
from shop.people.models import ToldAnswer
from shop.people.telling import Told, reply
from shop.visits.reporting import build_report
from shop.web.errors import Refused
from tests import factories
from tests.papers import words_of

TOLD = {"told_by": "Ned Pintlow", "told_how": "phone", "told_on": "2026-03-02"}
WORDS = "told by Ned Pintlow, by phone, on 2 Mar 2026"


@pytest.fixture
def advice(machine, visit, contractor):
    """Two bad teeth at a visit, and what is recommended for them."""
    belt = machine.belts.get(name="guide bushing belt")
    inspect_belt(belt=belt, visit=visit, teeth={3: "marked", 4: "marked"}, made_by=contractor)
    return Recommendation.objects.get()


@pytest.fixture
def quote(shop, firm, contractor, advice):
    factories.RateFactory(firm=firm)
    priced = [quotes.Priced(one, Decimal(50), Decimal(1)) for one in quotes.quotables(shop, firm)]
    return quotes.issue_quote(shop=shop, firm=firm, made_by=contractor, offered=priced)


def decide(client, person, advice, **given):
    client.force_login(person)
    address = reverse("machines:recommendation", args=[advice.pk])
    return client.post(address, TOLD | {"note": "", "price": ""} | given)


def told_at(shop, firm, contractor, day=None):
    told = Told(firm, "Ned", "mail", day or timezone.localdate(timezone=shop.zone))
    return told.keep(shop, what="the belt", made_by=contractor)


def test_advice_is_approved_at_the_price_that_was_told(client, contractor, advice):
    decide(client, contractor, advice, state="approved", price="48.50")
    step = advice.steps.get()
    assert (step.state, step.unit_price, str(step.told)) == ("approved", Decimal("48.50"), WORDS)
    assert step.made_by == contractor


@pytest.mark.parametrize("state", ["deferred", "declined"])
def test_to_put_off_or_decline_keeps_the_reason_told(client, contractor, advice, state):
    page = decide(client, contractor, advice, state=state)
    assert "Say why" in page.text
    decide(client, contractor, advice, state=state, note="no money this month")
    assert advice.steps.get().note == "no money this month"


@pytest.mark.parametrize(
    ("changed", "said"),
    [({"told_by": ""}, "required"), ({"told_on": "2999-01-01"}, "That day lies ahead")],
)
def test_who_told_it_and_when_is_asked_for(client, contractor, advice, changed, said):
    page = decide(client, contractor, advice, state="approved", **changed)
    assert said in page.text
    assert not advice.steps.exists()
    assert not ToldAnswer.objects.exists()


def test_what_was_told_without_a_decision_stays_typed(client, contractor, advice):
    page = decide(client, contractor, advice, note="rang from the car")
    assert page.context["form"].errors["state"]
    assert "rang from the car" in page.text
    assert not advice.steps.exists()


def test_an_owner_decides_without_being_told(client, owner, advice):
    decide(client, owner, advice, state="approved")
    assert advice.steps.get().told is None


def test_an_operator_tells_nothing(client, operator, advice):
    assert decide(client, operator, advice, state="approved").status_code == 403


def test_it_is_shown_as_told_on_every_page_and_paper(client, contractor, owner, advice, visit):
    decide(client, contractor, advice, state="approved")
    client.force_login(owner)
    machine = advice.machine
    for address in (
        advice.get_absolute_url(),
        machine.get_absolute_url(),
        visit.get_absolute_url(),
        reverse("machines:history", args=[machine.pk]),
        reverse("shop:told_answers", args=[machine.shop_id]),
    ):
        assert WORDS in client.get(address).text.replace("Told by", "told by"), address
    assert WORDS in words_of(build_report(visit))


def test_quoted_items_are_accepted_as_told(client, contractor, quote):
    client.force_login(contractor)
    item = quote.items.get()
    today = timezone.localdate(timezone=quote.shop.zone).isoformat()
    answers = {f"item_{item.pk}": "accept", "note": "go ahead"}
    client.post(quote.get_absolute_url(), TOLD | {"told_on": today} | answers)
    told = item.__class__.objects.get(pk=item.pk).answer.told
    assert (told.told_by, told.made_by) == ("Ned Pintlow", contractor)
    assert told.what == f"{quote}: 1 of 1 answered items accepted"
    assert RecommendationStep.objects.get().told == told
    assert "told by Ned Pintlow, by phone" in client.get(quote.get_absolute_url()).text


def test_a_rival_tells_no_answer_to_another_firm_s_quote(client, shop, quote):
    rival = factories.MembershipFactory(shop=shop, role="contractor").user
    client.force_login(rival)
    assert client.post(quote.get_absolute_url(), TOLD).status_code == 404


def test_a_quote_counts_by_the_day_it_was_told(shop, firm, contractor, quote):
    item = quote.items.get()
    late = Told(firm, "Ned", "paper", quote.valid_until + timedelta(days=1))
    with pytest.raises(Refused, match="was valid until"):
        quotes.answer_quote(quote, {item.pk: (True, "")}, made_by=contractor, told=late)


def test_a_day_of_a_visit_is_agreed_as_told(client, contractor, shop):
    client.force_login(contractor)
    day = timezone.localdate(timezone=shop.zone) + timedelta(days=6)
    planned = {"purpose": "checks", "day": day.isoformat()}
    page = client.post(reverse("machines:plan_visit", args=[shop.pk]), TOLD | planned, follow=True)
    visit = shop.visits.get()
    assert str(visit.day_told) == WORDS
    assert WORDS in page.text
    assert WORDS in words_of(build_report(visit))
    planning.move_visit(visit, slot=Slot(day + timedelta(days=1)), reason="bar stock late")
    assert shop.visits.get().day_told is None


def test_a_visit_is_planned_without_anybody_s_word(client, contractor, shop):
    client.force_login(contractor)
    day = timezone.localdate(timezone=shop.zone) + timedelta(days=6)
    client.post(
        reverse("machines:plan_visit", args=[shop.pk]),
        {"purpose": "checks", "day": day.isoformat(), "told_how": "phone"},
    )
    assert shop.visits.get().day_told is None


def test_the_day_of_a_proposal_is_agreed_as_told(client, contractor, owner, shop, firm):
    day = timezone.localdate(timezone=shop.zone) + timedelta(days=30)
    day += timedelta(days=-day.weekday() % 7)  # a Monday
    asked = visit_planning.propose(
        shop=shop, firm=firm, purpose="checks", slots=[Slot(day)], pairs=[], made_by=owner
    )
    moved = Slot(day + timedelta(days=1))
    planning.move(asked, slot=moved, reason="busy", made_by=contractor)
    client.force_login(contractor)
    told = {f"agreed-{name}": value for name, value in TOLD.items()}
    client.post(reverse("machines:answer_proposal", args=[asked.pk]), told | {"answer": "agreed"})
    visit = shop.visits.get()
    assert (visit.planned_for, str(visit.day_told)) == (moved.day, WORDS)
    assert WORDS in asked.steps.last().note


def test_the_owner_is_shown_what_was_entered_and_confirms_it(client, owner, shop, firm, contractor):
    told = told_at(shop, firm, contractor)
    client.force_login(owner)
    assert "Answers entered for you" in client.get(reverse("shop:home")).text
    client.post(reverse("shop:told_answer", args=[told.pk]), {"confirm": "yes", "why": ""})
    told.refresh_from_db()
    assert f"confirmed by {owner.name}" in told.in_words
    assert "Answers entered for you" not in client.get(reverse("shop:home")).text


def test_an_objection_says_why_and_is_said_once(client, owner, shop, firm, contractor):
    told = told_at(shop, firm, contractor)
    client.force_login(owner)
    address = reverse("shop:told_answer", args=[told.pk])
    assert "Say what is wrong" in client.post(address, {"object": "yes", "why": ""}).text
    client.post(address, {"object": "yes", "why": "I said no such thing"})
    told = ToldAnswer.objects.get()
    assert f"{owner.name} objected on" in told.in_words
    assert "I said no such thing" in told.in_words
    with pytest.raises(Refused, match="answered already"):
        reply(told, made_by=owner, objects_to_it=False)


def test_what_was_told_as_declined_is_open_again_after_an_objection(
    client, owner, contractor, advice
):
    decide(client, contractor, advice, state="declined", note="not needed")
    assert not Recommendation.objects.open().exists()
    told = advice.steps.get().told
    reply(told, made_by=owner, objects_to_it=True, why="I never said so")
    again = Recommendation.objects.open().get()
    assert (again.what, again.reason) == (advice.what, advice.reason)
    assert [one.sentence for one in again.evidence.all()] == [
        one.sentence for one in advice.evidence.all()
    ]
    assert "I never said so" in told.__class__.objects.get().in_words


def test_only_the_owner_replies(client, contractor, operator, shop, firm):
    told = told_at(shop, firm, contractor)
    address = reverse("shop:told_answer", args=[told.pk])
    for person, status in ((contractor, 403), (operator, 404)):
        client.force_login(person)
        assert client.post(address, {"confirm": "yes"}).status_code == status


def test_a_day_that_lies_ahead_is_not_taken(shop, firm, contractor):
    with pytest.raises(Refused, match="lies ahead"):
        told_at(shop, firm, contractor, date(2999, 1, 1))
