"""Credit notes that take back some lines, or some of a line, and what is left then."""

from decimal import Decimal
from importlib import import_module

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from shop.audit.freezing import MESSAGE
from shop.billing import services
from shop.billing.credit_notes import issue_credit_note, lines_left
from shop.billing.models import Statement
from shop.billing.money import Amount, Tax, add_up
from shop.records.triggers.syncing import create_triggers, drop_triggers
from shop.visits.services import sign_visit
from shop.web.errors import Refused
from tests.factories import TaxCategoryFactory
from tests.pages import tight
from tests.together import together

NAMES = {"contractor": ("A", "service"), "customer": ("B", "owner")}


@pytest.fixture(autouse=True)
def _nothing_missing(settings):
    settings.BEFORE_SIGNING = []
    settings.AFTER = []


@pytest.fixture
def signed(visit):
    return sign_visit(visit, **NAMES)


def charge(visit, tax, text, quantity, price, **more):
    return services.add_charge(
        visit,
        made_by=visit.contractor,
        text=text,
        quantity=Decimal(quantity),
        price=price and Decimal(price),
        tax=tax,
        **more,
    )


@pytest.fixture
def statement(signed, tax, contractor):
    """Eight hours at 88 and three belts at 48.50, 20 % tax."""
    charge(signed, tax, "labour", "8", "88", unit="h", kind="labour")
    charge(signed, tax, "belt", "3", "48.50", kind="part")
    return services.issue_statement(signed, made_by=contractor)


def line_of(statement, text):
    return statement.lines.get(text__startswith=text)


def take_back(statement, reason="sent back", **quantities):
    return issue_credit_note(
        statement,
        made_by=statement.made_by,
        reason=reason,
        quantities={line_of(statement, text).pk: Decimal(q) for text, q in quantities.items()},
    )


def outstanding(statement):
    return Statement.objects.with_outstanding().get(pk=statement.pk).outstanding


def test_one_of_three_belts_is_taken_back(statement):
    note = take_back(statement, belt="1")
    assert (note.net, note.tax, note.gross) == (
        Decimal("48.50"),
        Decimal("9.70"),
        Decimal("58.20"),
    )
    assert outstanding(statement) == statement.gross - Decimal("58.20")


def test_a_statement_taken_back_in_part_stands_and_its_charges_stay_closed(statement):
    take_back(statement, belt="1")
    assert list(Statement.objects.in_effect()) == [statement]
    with pytest.raises(Refused, match="stands"):
        services.edit_charge(statement.visit.charges.first(), quantity=Decimal(1))
    with pytest.raises(IntegrityError, match=MESSAGE), transaction.atomic():
        statement.visit.charges.update(price=1)


def test_once_the_rest_is_taken_back_too_the_charges_are_open_again(statement):
    take_back(statement, belt="1")
    take_back(statement, labour="8", belt="2")
    assert outstanding(statement) == 0
    assert not Statement.objects.in_effect().exists()
    services.edit_charge(statement.visit.charges.first(), price=Decimal(80))


def test_all_that_is_left_is_taken_back_without_counting_it(statement):
    take_back(statement, labour="2.5")
    note = issue_credit_note(statement, made_by=statement.made_by, reason="wrong customer")
    assert [line.quantity for line in note.lines.all()] == [Decimal("5.5"), Decimal(3)]
    assert outstanding(statement) == 0


def test_credit_notes_are_numbered_without_a_gap_though_some_are_refused(statement):
    for quantity in ("1", "9", "1"):
        try:
            take_back(statement, belt=quantity)
        except Refused:
            continue
    year = statement.issued_on.year
    numbers = Statement.objects.filter(kind="credit note").order_by("pk")
    assert [note.number for note in numbers] == [f"CN-{year}-0001", f"CN-{year}-0002"]


@pytest.mark.parametrize(
    ("quantities", "said"),
    [
        ({"belt": "3.001"}, "3 pc are left to credit, not 3.001"),
        ({"belt": "-1"}, "not -1"),
        ({"belt": "0"}, "Choose at least one line"),
    ],
    ids=["more than was billed", "less than nothing", "nothing"],
)
def test_no_more_is_taken_back_than_was_billed(statement, quantities, said):
    with pytest.raises(Refused, match=said):
        take_back(statement, **quantities)


def test_no_more_is_taken_back_than_earlier_notes_left(statement):
    take_back(statement, belt="2")
    with pytest.raises(Refused, match="1 pc are left"):
        take_back(statement, belt="2")


@pytest.mark.django_db(transaction=True)
def test_two_people_crediting_at_once_take_back_no_more_than_was_billed(statement):
    first, second = together(*[lambda: take_back(statement, belt="2")] * 2)
    assert {type(first), type(second)} == {Statement, Refused}
    note = Statement.objects.get(kind="credit note")
    assert note.number.endswith("-0001")
    assert outstanding(statement) == statement.gross - note.gross


def test_a_line_of_another_statement_is_refused(statement):
    with pytest.raises(Refused, match="not the statement's"):
        issue_credit_note(
            statement,
            made_by=statement.made_by,
            reason="slip",
            quantities={line_of(statement, "belt").pk + 999: Decimal(1)},
        )


@pytest.fixture
def discounted(signed, tax, contractor):
    """A line of 100 with a discount of 10 on it."""
    charge(signed, tax, "gauge hire", "1", "100")
    charge(signed, tax, "regular customer", "1", "10", kind="discount")
    return services.issue_statement(signed, made_by=contractor)


def test_a_discount_does_not_outlive_the_line_it_was_taken_off(discounted):
    with pytest.raises(Refused, match="discount that stays"):
        take_back(discounted, gauge="1")
    note = take_back(discounted, gauge="1", regular="1")
    assert (note.net, note.closes) == (Decimal(90), True)


def test_a_discount_alone_is_not_taken_back_since_that_would_bill_more(discounted):
    with pytest.raises(Refused, match="more than the lines"):
        take_back(discounted, regular="1")


def test_the_credit_note_says_which_part_of_which_line(statement):
    note = take_back(statement, reason="one was too long", belt="1")
    text = "\n".join(page.extract_text() for page in PdfReader(note.document.file.open()).pages)
    for said in (
        f"part of statement {statement.number}",
        "Of line 2 of the statement",
        "one was too long",
        "€58.20",
        note.document.code,
    ):
        assert said in " ".join(text.split())


def test_the_database_refuses_a_change_of_what_was_taken_back(statement):
    note = take_back(statement, belt="1")
    with pytest.raises(IntegrityError, match=MESSAGE), transaction.atomic():
        note.lines.update(quantity=Decimal("0.5"))


def test_credit_notes_from_before_are_known_to_take_everything_back(statement):
    note = issue_credit_note(statement, made_by=statement.made_by, reason="wrong customer")
    drop_triggers(using="default", kinds=("frozen",))
    note.lines.update(takes_back=None)
    Statement.objects.filter(pk=note.pk).update(closes=False)
    import_module("shop.migrations.0004_part_credits").name_what_was_taken_back(apps, None)
    create_triggers(using="default")
    note.refresh_from_db()
    assert note.closes
    assert [one.quantity for one in lines_left(statement)] == [0, 0]


# ---- the page ----


def post(client, statement, **given):
    client.force_login(statement.made_by)
    return client.post(reverse("shop:credit", args=[statement.pk]), {"reason": "sent back"} | given)


def test_a_part_is_taken_back_on_the_page(client, statement):
    belt = line_of(statement, "belt")
    post(client, statement, what="some", **{f"line_{belt.pk}": "2"})
    note = Statement.objects.get(kind="credit note")
    assert (note.net, note.closes) == (Decimal(97), False)
    page = client.get(reverse("shop:credit", args=[statement.pk])).content.decode()
    assert tight('1 pc <span class="muted">of 3</span>') in tight(page)
    assert "€116.40 of it credited" in client.get(statement.get_absolute_url()).content.decode()


def test_the_list_says_what_was_taken_back_and_what_is_left_to_pay(client, statement):
    take_back(statement, belt="2")
    client.force_login(statement.made_by)
    page = client.get(reverse("shop:statements")).content.decode()
    # 2 × 48.50 and 20 %: 116.40 of 849.50 and 20 %: 1019.40.
    assert "€116.40" in page
    assert "€903.00" in page


@pytest.mark.parametrize(
    ("what", "typed", "said"),
    [
        ("some", "", "how much of which line"),
        ("some", "4", "Only 3.000 are left to credit."),
        ("some", "-1", "greater than or equal to 0"),
        ("some", "one", "Enter a number"),
        ("all", "2", "choose &#x27;only these lines&#x27;"),
    ],
)
def test_what_cannot_be_taken_back_is_refused_and_stays_typed(client, statement, what, typed, said):
    belt = line_of(statement, "belt")
    page = post(client, statement, what=what, **{f"line_{belt.pk}": typed}).content.decode()
    assert said in page
    assert f'value="{typed}"' in page or not typed
    assert not Statement.objects.filter(kind="credit note").exists()


def test_only_the_firm_s_contractor_takes_back(client, statement, owner):
    client.force_login(owner)
    assert client.get(reverse("shop:credit", args=[statement.pk])).status_code == 403


# ---- whatever is taken back, in whatever order ----

AMOUNTS = st.decimals(min_value=Decimal("0.001"), max_value=40, places=3)
PRICES = st.decimals(min_value=0, max_value=900, places=4)
lines = st.lists(st.tuples(AMOUNTS, PRICES, st.integers(0, 1)), min_size=1, max_size=5)
shares = st.lists(st.lists(st.integers(0, 1000), min_size=5, max_size=5), max_size=4)


@settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(lines=lines, shares=shares)
def test_what_is_left_is_always_what_the_remaining_lines_come_to(
    signed, firm, contractor, monkeypatch, lines, shares
):
    monkeypatch.setattr(services, "issue", lambda *_args, **_more: None)
    with transaction.atomic():
        taxes = [
            TaxCategoryFactory(firm=firm, name="full", percent=Decimal("19.6")),
            TaxCategoryFactory(firm=firm, name="part", percent=Decimal("7.7"), is_usual=False),
        ]
        for quantity, price, which in lines:
            charge(signed, taxes[which], "x", quantity, price)
        statement = services.issue_statement(signed, made_by=contractor)
        for share in shares:
            _take_a_share(statement, share)
            assert _left_by_notes(statement) == _left_by_lines(statement)
        if any(one.quantity for one in lines_left(statement)):
            issue_credit_note(statement, made_by=contractor, reason="all of it")
        assert outstanding(statement) == 0
        notes = statement.credit_notes.order_by("pk")
        assert [note.number[-4:] for note in notes] == [
            f"{n:04d}" for n in range(1, len(notes) + 1)
        ]
        transaction.set_rollback(True)


def _take_a_share(statement, share):
    """Take back so many thousandths of what is left of each line."""
    wanted = {
        one.line.pk: (one.quantity * part / 1000).quantize(Decimal("0.001"))
        for one, part in zip(lines_left(statement), share, strict=False)
    }
    if any(wanted.values()):
        issue_credit_note(
            statement, made_by=statement.made_by, reason="some of it", quantities=wanted
        )


def _left_by_notes(statement):
    notes = list(statement.credit_notes.all())
    return (
        statement.net - sum(note.net for note in notes),
        statement.tax - sum(note.tax for note in notes),
    )


def _left_by_lines(statement):
    """What a statement of the remaining quantities alone would come to."""
    totals = add_up(
        Amount(one.net, Tax(one.line.tax_code, one.line.tax_percent))
        for one in lines_left(statement)
    )
    return totals.net, totals.tax
