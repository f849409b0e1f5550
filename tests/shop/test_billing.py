"""Charges filled in from the visit, and the statements, credit notes and payments made of them."""

from datetime import timedelta
from decimal import Decimal
from functools import partial

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from shop.audit.freezing import MESSAGE
from shop.billing import services
from shop.billing.credit_notes import issue_credit_note
from shop.billing.models import Charge, Payment, Statement, StatementLine
from shop.visits.clock import enter_spell
from shop.visits.models import NumberSeries
from shop.visits.services import sign_visit
from shop.web.amounts import money_text
from shop.web.errors import Refused
from tests.factories import RateFactory, TaxCategoryFactory, VisitFactory, at, today
from tests.together import together

NAMES = {"contractor": ("A", "service"), "customer": ("B", "owner")}


@pytest.fixture(autouse=True)
def _nothing_missing(settings):
    settings.BEFORE_SIGNING = []
    settings.AFTER = []


@pytest.fixture
def rates(firm, tax):
    """The firm's prices: an hour, an hour of overtime, an hour on the road, a kilometre."""
    for kind, unit, price in (
        ("normal", "h", "88"),
        ("overtime", "h", "110"),
        ("travel time", "h", "60"),
        ("travel distance", "km", "0.65"),
    ):
        RateFactory(firm=firm, kind=kind, unit=unit, price=Decimal(price), tax=tax)


@pytest.fixture
def worked(visit, contractor, rates):
    """A visit of ten hours on a Monday with an hour and 42 km of travel."""
    for kind, began, ended, distance in (
        ("travel", at(10, 6), at(10, 7), Decimal(42)),
        ("work", at(10, 7), at(10, 17), None),
    ):
        enter_spell(
            visit=visit,
            who=contractor,
            kind=kind,
            began_at=began,
            ended_at=ended,
            distance=distance,
            made_by=contractor,
        )
    return visit


@pytest.fixture
def billed(worked, contractor):
    """The visit signed, its charges filled in."""
    signed = sign_visit(worked, **NAMES)
    services.fill_in(signed, made_by=contractor)
    return signed


@pytest.fixture
def statement(billed, contractor):
    return services.issue_statement(billed, made_by=contractor)


def charge(visit, tax, price="10", quantity="1", **more):
    return services.add_charge(
        visit,
        made_by=visit.contractor,
        text=more.pop("text", "gauge hire"),
        price=price and Decimal(price),
        quantity=Decimal(quantity),
        tax=tax,
        **more,
    )


def text_of(document):
    return "\n".join(page.extract_text() for page in PdfReader(document.file.open()).pages)


# ---- filling in ----


def test_the_clock_fills_in_hours_by_rate_and_travel(worked, contractor):
    services.fill_in(worked, made_by=contractor)
    assert [(one.source, one.quantity, one.price) for one in worked.charges.all()] == [
        ("rate normal", Decimal(8), Decimal(88)),
        ("rate overtime", Decimal(2), Decimal(110)),
        ("rate travel time", Decimal(1), Decimal(60)),
        ("rate travel distance", Decimal(42), Decimal("0.65")),
    ]


def test_filling_in_twice_changes_nothing(worked, contractor):
    services.fill_in(worked, made_by=contractor)
    assert services.fill_in(worked, made_by=contractor) == 0


def test_what_changed_at_the_visit_is_said_before_it_is_charged(worked, contractor):
    assert len(services.not_charged_yet(worked)) == 4
    services.fill_in(worked, made_by=contractor)
    assert services.not_charged_yet(worked) == []


def test_an_edited_line_no_longer_follows_the_clock(worked, contractor):
    services.fill_in(worked, made_by=contractor)
    line = worked.charges.get(source="rate normal")
    services.edit_charge(line, quantity=Decimal("7.5"))
    services.fill_in(worked, made_by=contractor)
    line.refresh_from_db()
    assert line.quantity == Decimal("7.5")


def test_a_line_taken_out_is_not_filled_in_again(worked, contractor):
    services.fill_in(worked, made_by=contractor)
    services.remove_charge(worked.charges.get(source="rate travel time"))
    services.fill_in(worked, made_by=contractor)
    assert worked.charges.billed().count() == 3


def test_hours_without_a_rate_are_charged_once_somebody_prices_them(visit, contractor, tax):
    enter_spell(
        visit=visit,
        who=contractor,
        kind="work",
        began_at=at(10, 8),
        ended_at=at(10, 9),
        made_by=contractor,
    )
    signed = sign_visit(visit, **NAMES)
    services.fill_in(signed, made_by=contractor)
    with pytest.raises(Refused, match="no price for Labour, normal hours"):
        services.issue_statement(signed, made_by=contractor)


def test_a_firm_without_tax_categories_is_told_so(visit, contractor):
    with pytest.raises(Refused, match="no tax category"):
        services.fill_in(visit, made_by=contractor)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ({"quantity": "-2"}, "above zero"),
        ({"quantity": "0"}, "above zero"),
        ({"price": "-5"}, "not negative"),
        ({"percent": Decimal(5)}, "Only a discount"),
        ({"kind": "discount", "percent": Decimal(5)}, "either an amount or a percentage"),
        ({"kind": "discount", "price": None}, "either an amount or a percentage"),
    ],
    ids=lambda case: str(case),
)
def test_lines_that_make_no_sense_are_refused(visit, tax, line, said):
    with pytest.raises(Refused, match=said):
        charge(visit, tax, **line)


# ---- drawing up ----


def test_a_discount_in_percent_is_of_the_lines_taxed_like_it(visit, firm, tax):
    free = TaxCategoryFactory(
        firm=firm, name="exempt", code="E", percent=0, reason="training", is_usual=False
    )
    charge(visit, tax, "200")
    charge(visit, free, "50")
    charge(visit, tax, None, kind="discount", percent=Decimal(10), text="regular customer")
    drawn = services.draw_up(visit).statement
    assert (drawn.lines_total, drawn.discounts_total, drawn.tax, drawn.gross) == (
        Decimal(250),
        Decimal(20),
        Decimal(36),
        Decimal(266),
    )


def test_discounts_beyond_the_lines_are_refused(visit, tax):
    charge(visit, tax, "10")
    charge(visit, tax, "12", kind="discount")
    with pytest.raises(Refused, match="more than the lines"):
        services.draw_up(visit)


# ---- issuing ----


def test_a_statement_is_issued_once_the_visit_is_signed(worked, contractor):
    services.fill_in(worked, made_by=contractor)
    with pytest.raises(Refused, match="once the visit is signed"):
        services.issue_statement(worked, made_by=contractor)


def test_a_statement_of_nothing_is_refused_and_uses_no_number(visit, contractor, tax):
    signed = sign_visit(visit, **NAMES)
    with pytest.raises(Refused, match="nothing to charge"):
        services.issue_statement(signed, made_by=contractor)
    assert not NumberSeries.objects.filter(kind="statement").exists()


def test_the_statement_comes_to_what_the_lines_and_their_tax_come_to(statement):
    # 8 × 88 + 2 × 110 + 1 × 60 + 42 × 0.65 = 1011.30; 20 % of it 202.26.
    assert (statement.net, statement.tax, statement.gross) == (
        Decimal("1011.30"),
        Decimal("202.26"),
        Decimal("1213.56"),
    )


def test_statements_of_a_year_are_numbered_without_a_gap(statement, contractor, tax, firm, shop):
    year = statement.issued_on.year
    other = sign_visit(
        VisitFactory(shop=shop, firm=firm, contractor=contractor, number="other"), **NAMES
    )
    charge(other, tax)
    second = services.issue_statement(other, made_by=contractor)
    assert [statement.number, second.number] == [f"ST-{year}-0001", f"ST-{year}-0002"]


def test_a_statement_that_fails_takes_no_number(billed, contractor, monkeypatch):
    def spill(*args):
        raise RuntimeError("printer on fire")

    monkeypatch.setattr(services, "build_statement", spill)
    with pytest.raises(RuntimeError, match="printer on fire"):
        services.issue_statement(billed, made_by=contractor)
    assert not NumberSeries.objects.filter(kind="statement").exists()
    assert not Statement.objects.exists()


def test_a_visit_has_one_standing_statement(statement, billed, contractor):
    with pytest.raises(Refused, match="was issued for this visit and stands"):
        services.issue_statement(billed, made_by=contractor)


def test_charges_do_not_change_under_a_standing_statement(statement, billed):
    with pytest.raises(Refused, match="stands"):
        services.edit_charge(billed.charges.first(), quantity=Decimal(1))


def test_what_was_issued_stays_when_the_firm_moves(statement, firm):
    firm.name, firm.address = "Renamed Service", "Elsewhere"
    firm.save()
    statement.refresh_from_db()
    assert statement.seller_name == "Oldbridge Spindle Service"


def test_every_figure_of_the_statement_is_on_its_pdf(statement):
    text = text_of(statement.document)
    figures = [line.net for line in statement.lines.all()]
    figures += [statement.net, statement.tax, statement.gross]
    for figure in figures:
        assert money_text(figure, "EUR") in text
    assert statement.number in text
    assert statement.document.code in text


def test_four_hundred_lines_are_printed_on_as_many_pages_as_they_need(visit, contractor, tax):
    signed = sign_visit(visit, **NAMES)
    Charge.objects.bulk_create(
        Charge(
            visit=signed, made_by=contractor, text=f"screw no. {n}", price=Decimal("1.05"), tax=tax
        )
        for n in range(400)
    )
    statement = services.issue_statement(signed, made_by=contractor)
    pdf = PdfReader(statement.document.file.open())
    assert statement.net == Decimal("420.00")
    assert "screw no. 399" in "\n".join(page.extract_text() for page in pdf.pages)
    assert f"page {len(pdf.pages)} of {len(pdf.pages)}" in pdf.pages[-1].extract_text()


@pytest.mark.parametrize(
    "name", ["Ærø Værksted", "שרון מכונות", "北町精機", "Žluťoučký & <b>Sons</b>"]
)
def test_a_statement_is_printed_for_a_customer_of_any_script(billed, contractor, shop, name):
    shop.name = name
    shop.save()
    billed.refresh_from_db()
    statement = services.issue_statement(billed, made_by=contractor)
    assert statement.buyer_name == name
    assert statement.document.file.size > 1000


@pytest.mark.django_db(transaction=True)
def test_two_people_issuing_at_once_get_two_numbers_and_skip_none(shop, firm, contractor, tax):
    visits = []
    for number in ("a", "b", "c"):
        visit = VisitFactory(shop=shop, firm=firm, contractor=contractor, number=number)
        charge(visit, tax)
        visits.append(sign_visit(visit, **NAMES))
    issued = together(
        *(partial(services.issue_statement, visit, made_by=contractor) for visit in visits)
    )
    assert all(isinstance(one, Statement) for one in issued), issued
    numbers = sorted(Statement.objects.values_list("number", flat=True))
    assert [number[-4:] for number in numbers] == ["0001", "0002", "0003"]


# ---- the database refuses ----


def refused():
    return pytest.raises(IntegrityError, match=MESSAGE)


@pytest.mark.parametrize(
    ("records", "change"),
    [
        (lambda one: Statement.objects.filter(pk=one.pk), {"gross": Decimal(1)}),
        (lambda one: one.lines.all(), {"net": Decimal(1)}),
        (lambda one: one.taxes.all(), {"amount": Decimal(1)}),
        (lambda one: one.visit.charges.all(), {"price": Decimal(1)}),
    ],
    ids=["the statement", "its lines", "its tax", "the charges it was made of"],
)
def test_the_database_refuses_to_change_what_was_issued(statement, records, change):
    with refused(), transaction.atomic():
        records(statement).update(**change)


def test_the_database_refuses_another_line_on_what_was_issued(statement):
    line = statement.lines.last()
    line.pk, line.position = None, 99
    with refused(), transaction.atomic():
        StatementLine.objects.bulk_create([line])


def test_the_database_refuses_to_change_a_payment(statement, contractor):
    services.record_payment(statement, made_by=contractor, amount=Decimal(100), paid_on=today())
    with refused(), transaction.atomic():
        Payment.objects.update(amount=Decimal(1000))


# ---- credit notes ----


def test_a_credit_note_takes_back_every_line_in_a_series_of_its_own(statement, contractor):
    note = issue_credit_note(statement, made_by=contractor, reason="wrong rate")
    assert note.number == f"CN-{note.issued_on.year}-0001"
    assert (note.net, note.tax, note.gross) == (statement.net, statement.tax, statement.gross)
    assert note.lines.count() == statement.lines.count()


def test_a_credit_note_names_what_it_takes_back_and_why(statement, contractor):
    note = issue_credit_note(statement, made_by=contractor, reason="wrong rate")
    text = text_of(note.document)
    assert statement.number in text
    assert "wrong rate" in text


def test_after_a_credit_note_the_visit_is_billed_anew(statement, billed, contractor):
    issue_credit_note(statement, made_by=contractor, reason="wrong rate")
    services.edit_charge(billed.charges.first(), price=Decimal(80))
    second = services.issue_statement(billed, made_by=contractor)
    assert second.net == statement.net - 8 * 8


@pytest.mark.parametrize(("reason", "said"), [("", "Say why"), ("once more", "credited already")])
def test_a_statement_is_credited_once_and_for_a_reason(statement, contractor, reason, said):
    if reason:
        issue_credit_note(statement, made_by=contractor, reason="wrong rate")
    with pytest.raises(Refused, match=said):
        issue_credit_note(statement, made_by=contractor, reason=reason)


# ---- payments ----


def outstanding(statement):
    return Statement.objects.with_outstanding().get(pk=statement.pk).outstanding


def pay(statement, amount, **more):
    return services.record_payment(
        statement,
        made_by=statement.made_by,
        amount=Decimal(amount),
        paid_on=more.pop("paid_on", timezone.localdate(timezone=statement.shop.zone)),
        **more,
    )


def test_what_is_paid_in_parts_is_outstanding_in_part(statement):
    pay(statement, "1000.00")
    assert outstanding(statement) == Decimal("213.56")
    pay(statement, "213.56")
    assert outstanding(statement) == 0


def test_a_credited_statement_is_not_outstanding(statement, contractor):
    issue_credit_note(statement, made_by=contractor, reason="wrong rate")
    assert outstanding(statement) == 0


def test_money_paid_for_a_credited_statement_is_given_back(statement, contractor):
    pay(statement, "100")
    issue_credit_note(statement, made_by=contractor, reason="wrong rate")
    assert outstanding(statement) == -100
    pay(statement, "-100", note="credited")
    assert outstanding(statement) == 0


@pytest.mark.parametrize(
    ("amount", "more", "said"),
    [
        ("1213.57", {}, "more than the 1,213.56 EUR outstanding"),
        ("-1", {"note": "oops"}, "Only 0.00 EUR were paid"),
        ("0", {}, "Give the amount"),
        ("0.004", {}, "Give the amount"),
    ],
)
def test_payments_that_make_no_sense_are_refused(statement, amount, more, said):
    with pytest.raises(Refused, match=said):
        pay(statement, amount, **more)


def test_a_payment_to_come_is_refused(statement):
    tomorrow = timezone.localdate(timezone=statement.shop.zone) + timedelta(days=1)
    with pytest.raises(Refused, match="in the future"):
        pay(statement, "5", paid_on=tomorrow)


# ---- whatever is charged ----

lines = st.lists(
    st.tuples(
        st.decimals(min_value=Decimal("0.001"), max_value=500, places=3),
        st.decimals(min_value=0, max_value=3000, places=4),
        st.integers(0, 1),
    ),
    min_size=1,
    max_size=8,
)


@settings(
    max_examples=15,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(lines=lines)
def test_any_charges_come_to_their_lines_and_the_tax_of_each_category(visit, firm, lines):
    with transaction.atomic():
        taxes = [
            TaxCategoryFactory(firm=firm, name="full", percent=Decimal("19.6")),
            TaxCategoryFactory(firm=firm, name="part", percent=Decimal("7.7"), is_usual=False),
        ]
        for quantity, price, which in lines:
            charge(visit, taxes[which], str(price), str(quantity))
        drawn = services.draw_up(visit)
        assert drawn.statement.net == sum(line.net for line in drawn.lines)
        assert drawn.statement.tax == sum(tax.amount for tax in drawn.taxes)
        assert drawn.statement.gross == drawn.statement.net + drawn.statement.tax
        transaction.set_rollback(True)
