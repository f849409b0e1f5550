"""Quotes for open advice: issued, answered line by line, planned, fitted and charged as quoted."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from machines.drive.inspecting import inspect_belt
from machines.drive.models import RecommendationStep
from machines.drive.services import fit, fit_advised
from machines.visit_work.services import add_machine_to_visit
from shop.billing import quotes, services
from shop.billing.models import Quote, QuoteAnswer
from shop.visits.services import arrive
from shop.web.amounts import money_text
from shop.web.errors import Refused
from tests.factories import PartFactory, RateFactory, TaxCategoryFactory, VisitFactory
from tests.pages import posted as post


@pytest.fixture
def prices(firm, machine):
    """What the firm asks: 88 an hour, 20 % on parts, and 41.50 for the belt it fits in 1.5 h."""
    tax = TaxCategoryFactory(firm=firm)
    RateFactory(firm=firm, tax=tax)
    firm.parts_markup_percent = Decimal(20)
    firm.save()
    part = machine.belts.get(name="guide bushing belt").part
    part.price, part.fitting_h = Decimal("41.50"), Decimal("1.5")
    part.save()


@pytest.fixture
def advice(machine, operator, prices):
    """Two damaged teeth: the guide bushing belt is to be replaced."""
    belt = machine.belts.get(name="guide bushing belt")
    inspect_belt(belt=belt, made_by=operator, teeth={3: "marked", 4: "marked"})
    return machine.recommendations.get()


def offer(shop, firm, contractor, **more):
    offered = [
        quotes.Priced(one, one.part_price, one.hours) for one in quotes.quotables(shop, firm)
    ]
    return quotes.issue_quote(shop=shop, firm=firm, made_by=contractor, offered=offered, **more)


@pytest.fixture
def quote(shop, firm, contractor, advice):
    return offer(shop, firm, contractor)


def test_open_advice_is_quoted_with_mark_up_and_fitting_hours(quote):
    # 41.50 + 20 % = 49.80; 1.5 h × 88 = 132; together 181.80, with 20 % tax 218.16.
    item = quote.items.get()
    assert [line.net for line in item.lines.all()] == [Decimal("49.80"), Decimal("132.00")]
    assert (item.net, quote.gross) == (Decimal("181.80"), Decimal("218.16"))


def test_every_figure_of_the_quote_is_on_its_pdf(quote):
    text = "\n".join(page.extract_text() for page in PdfReader(quote.document.file.open()).pages)
    for figure in (Decimal("49.80"), Decimal("132.00"), quote.net, quote.tax, quote.gross):
        assert money_text(figure, "EUR") in text


def test_accepting_an_item_approves_its_advice(quote, advice, owner):
    item = quote.items.get()
    quotes.answer_quote(quote, {item.pk: (True, "go ahead")}, made_by=owner)
    step = advice.steps.get()
    assert (step.state, step.made_by) == (RecommendationStep.State.APPROVED, owner)
    assert quote.number in step.note


def test_an_item_left_for_now_leaves_the_advice_open(quote, advice, owner):
    quotes.answer_quote(quote, {quote.items.get().pk: (False, "")}, made_by=owner)
    assert not advice.steps.exists()


def test_an_item_is_answered_once(quote, owner):
    item = quote.items.get()
    quotes.answer_quote(quote, {item.pk: (False, "")}, made_by=owner)
    with pytest.raises(Refused, match="answered already"):
        quotes.answer_quote(quote, {item.pk: (True, "")}, made_by=owner)


def test_a_quote_that_ran_out_is_not_accepted(shop, firm, contractor, advice, owner):
    quote = offer(shop, firm, contractor, valid_days=-1)
    with pytest.raises(Refused, match="was valid until"):
        quotes.answer_quote(quote, {quote.items.get().pk: (True, "")}, made_by=owner)


def test_accepted_work_is_planned_with_its_machine_and_once(quote, contractor, owner, machine):
    quotes.answer_quote(quote, {quote.items.get().pk: (True, "")}, made_by=owner)
    visit = quotes.plan_accepted_work(quote, made_by=contractor)
    assert visit.state == "planned"
    assert [here.machine for here in visit.visited.all()] == [machine]
    assert quotes.plan_accepted_work(quote, made_by=contractor) == visit


def test_nothing_is_planned_before_something_is_accepted(quote, contractor):
    with pytest.raises(Refused, match="Nothing of this quote was accepted"):
        quotes.plan_accepted_work(quote, made_by=contractor)


def test_what_was_quoted_is_what_is_charged(quote, contractor, owner, advice):
    quotes.answer_quote(quote, {quote.items.get().pk: (True, "")}, made_by=owner)
    visit = quotes.plan_accepted_work(quote, made_by=contractor)
    part = advice.part
    part.price = Decimal(99)
    part.save()
    arrive(visit)
    fit_advised(advice, made_by=contractor, visit=visit)
    services.fill_in(visit, made_by=contractor)
    line = visit.charges.get(kind="part")
    assert (line.number, line.price) == ("GB-60", Decimal("49.80"))


def test_a_part_fitted_without_a_quote_is_charged_with_the_mark_up(
    visit, machine, contractor, advice
):
    arrive(visit)
    add_machine_to_visit(visit, machine)
    fit_advised(advice, made_by=contractor, visit=visit)
    services.fill_in(visit, made_by=contractor)
    assert visit.charges.get(kind="part").price == Decimal("49.80")


def test_a_part_fitted_before_the_visit_is_not_charged_at_it(visit, machine, contractor, advice):
    arrive(visit)
    add_machine_to_visit(visit, machine)
    fit_advised(advice, made_by=contractor, made_at=visit.made_at - timedelta(days=3))
    assert not [one for one in services.known_charges(visit) if one.kind == "part"]


def test_what_was_put_in_is_charged_though_something_else_was_advised(
    visit, machine, contractor, advice, shop
):
    arrive(visit)
    add_machine_to_visit(visit, machine)
    other = PartFactory(shop=shop, number="GB-60-X", price=Decimal("50.00"))
    fit_advised(advice, made_by=contractor, visit=visit, part=other, quantity=2)
    services.fill_in(visit, made_by=contractor)
    line = visit.charges.get(kind="part")
    assert (line.number, line.quantity, line.price) == ("GB-60-X", Decimal(2), Decimal("60.00"))


def test_a_belt_fitted_without_being_advised_is_charged_too(visit, machine, contractor, prices):
    belt = machine.belts.get(name="guide bushing belt")
    fit(belt, made_by=contractor, visit=visit)
    services.fill_in(visit, made_by=contractor)
    line = visit.charges.get()
    assert (line.number, line.quantity, line.price) == ("GB-60", Decimal(1), Decimal("49.80"))
    assert line.text == "guide bushing belt, machine M1"


def test_a_belt_of_unknown_price_is_charged_once_somebody_prices_it(visit, machine, contractor):
    TaxCategoryFactory(firm=visit.firm)
    fit(machine.belts.get(name="jack shaft belt"), made_by=contractor, visit=visit)
    services.fill_in(visit, made_by=contractor)
    line = visit.charges.get()
    assert (line.text, line.price) == ("jack shaft belt, machine M1", None)


def test_what_one_visit_put_in_is_not_charged_at_another_that_went_on_meanwhile(
    visit, machine, contractor, advice, shop, firm
):
    other = VisitFactory(shop=shop, firm=firm, contractor=contractor, number="2025-900")
    here, there = (arrive(one) for one in (visit, other))
    for one in (here, there):
        add_machine_to_visit(one, machine)
    fit_advised(advice, made_by=contractor, visit=here)
    parts = [
        [one for one in services.known_charges(v) if one.kind == "part"] for v in (here, there)
    ]
    assert [len(lines) for lines in parts] == [1, 0]


@pytest.mark.parametrize(
    ("price", "hours", "said"),
    [(None, None, "give the price"), (Decimal(-1), None, "price of 0 or more")],
)
def test_an_item_without_sense_is_refused(shop, firm, contractor, advice, price, hours, said):
    (one,) = quotes.quotables(shop, firm)
    with pytest.raises(Refused, match=said):
        quotes.issue_quote(
            shop=shop, firm=firm, made_by=contractor, offered=[quotes.Priced(one, price, hours)]
        )
    assert not Quote.objects.exists()


def test_the_contractor_issues_a_quote_on_the_page(client, shop, contractor, advice):
    given = {"offer_0": "on", "price_0": "60", "hours_0": "1"}
    response = post(client, contractor, "new_quote", shop.pk, given)
    assert response.url == Quote.objects.get().get_absolute_url()
    assert Quote.objects.get().net == Decimal("148.00")


def test_the_owner_answers_on_the_page(client, quote, owner):
    item = quote.items.get()
    post(client, owner, "quote", quote.pk, {f"item_{item.pk}": "accept", "note": "soon"})
    assert QuoteAnswer.objects.get().accepted


def test_answering_nothing_is_refused(client, quote, owner):
    page = post(client, owner, "quote", quote.pk, {"note": "hm"}).content.decode()
    assert "Answer at least one item" in page


@pytest.mark.parametrize(
    # The firm writes down what it was told, and is asked who told it.
    ("who", "status"),
    [("contractor", 200), ("operator", 404), ("stranger", 404)],
)
def test_only_the_owner_answers(client, request, quote, who, status):
    item = quote.items.get()
    person = request.getfixturevalue(who)
    answer = post(client, person, "quote", quote.pk, {f"item_{item.pk}": "accept"})
    assert answer.status_code == status
    assert not QuoteAnswer.objects.exists()


@pytest.mark.parametrize(("who", "status"), [("owner", 403), ("operator", 403), ("stranger", 404)])
def test_only_the_contractor_quotes(client, request, shop, who, status):
    person = request.getfixturevalue(who)
    assert post(client, person, "new_quote", shop.pk, {}).status_code == status


def test_quotes_are_listed_newest_first_with_what_is_left_to_answer(
    client, quote, shop, firm, contractor, owner
):
    later = offer(shop, firm, contractor)
    quotes.answer_quote(quote, {quote.items.get().pk: (False, "")}, made_by=owner)
    client.force_login(owner)
    table = client.get(reverse("shop:quotes")).context["table"]
    shown = [(row.record, row.get_cell("open_items")) for row in table.rows]
    assert shown == [(later, "1 item"), (quote, "answered")]


def test_the_list_of_quotes_costs_the_same_however_many(
    client, quote, shop, firm, contractor, owner, django_assert_num_queries
):
    client.force_login(owner)
    client.get(reverse("shop:quotes"))
    with CaptureQueriesContext(connection) as few:
        client.get(reverse("shop:quotes"))
    for _ in range(9):
        offer(shop, firm, contractor)
    with django_assert_num_queries(len(few)):
        client.get(reverse("shop:quotes"))
