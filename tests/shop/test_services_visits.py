"""Opening, working at, signing and correcting visits."""

import uuid
from datetime import UTC, datetime

import pytest

from shop.hooks import SigningBlocker
from shop.paper.models import Document
from shop.visits import numbering, services
from shop.visits.models import NumberSeries, Visit
from shop.web.errors import Refused
from tests import factories
from tests.together import together

NAMES = {"contractor": ("Ida M.", "service"), "customer": ("Tom Q.", "owner")}
MISSING = "tests.shop.test_services_visits.one_thing_missing"


def one_thing_missing(visit):
    return [SigningBlocker("the sub-spindle was not measured", "/somewhere/")]


@pytest.fixture
def opening(shop, firm, contractor):
    """What opening a visit takes."""
    return {
        "shop": shop,
        "firm": firm,
        "contractor": contractor,
        "made_by": contractor,
        "purpose": "realign after a crash",
    }


def test_visits_are_numbered_in_one_series_per_firm_and_year(opening):
    numbers = [
        services.open_visit(**opening, made_at=datetime(year, 5, 1, tzinfo=UTC)).number
        for year in (2024, 2024, 2025)
    ]
    assert numbers == ["2024-001", "2024-002", "2025-001"]


def test_another_firm_counts_its_own_visits(opening):
    services.open_visit(**opening)
    theirs = services.open_visit(**{**opening, "firm": factories.FirmFactory()})
    assert theirs.number.endswith("-001")


def test_the_year_of_a_number_is_the_shop_s_own(opening):
    """At 23:30 UTC on New Year's Eve it is past midnight in Zurich."""
    visit = services.open_visit(**opening, made_at=datetime(2024, 12, 31, 23, 30, tzinfo=UTC))
    assert visit.number == "2025-001"


def test_a_visit_form_sent_twice_opens_one_visit(opening):
    entry_id = uuid.uuid4()
    first = services.open_visit(**opening, entry_id=entry_id)
    assert services.open_visit(**opening, entry_id=entry_id) == first
    assert Visit.objects.count() == 1


def test_a_number_that_was_not_used_is_given_out_again(opening):
    with pytest.raises(ZeroDivisionError):
        _number_then_fail(opening["firm"])
    assert services.open_visit(**opening).number.endswith("-001")


def _number_then_fail(firm):
    from django.db import transaction

    with transaction.atomic():
        numbering.next_number(firm, "visit", datetime.now(tz=UTC).year)
        raise ZeroDivisionError


@pytest.mark.django_db(transaction=True)
def test_visits_opened_at_the_same_moment_get_different_numbers(opening):
    made = together(*[lambda: services.open_visit(**opening)] * 4)
    assert [one for one in made if isinstance(one, Exception)] == []
    assert sorted(v.number[-3:] for v in Visit.objects.all()) == ["001", "002", "003", "004"]
    assert NumberSeries.objects.get().last == 4


@pytest.mark.django_db(transaction=True)
def test_a_form_sent_twice_at_the_same_moment_opens_one_visit(opening):
    entry_id = uuid.uuid4()
    made = together(*[lambda: services.open_visit(**opening, entry_id=entry_id)] * 4)
    assert {visit.pk for visit in made} == {Visit.objects.get().pk}


def test_arriving_puts_a_planned_visit_on_site(visit):
    came = datetime(2025, 3, 4, 7, 30, tzinfo=UTC)
    services.arrive(visit, at=came)
    visit.refresh_from_db()
    assert (visit.state, visit.arrived_at) == (Visit.State.ON_SITE, came)


def test_the_first_thing_done_counts_as_arriving(visit):
    assert services.note_come_back(visit, "brass shims").state == Visit.State.ON_SITE


def test_arriving_again_does_not_move_the_arrival(visit):
    first = services.arrive(visit).arrived_at
    assert services.arrive(visit).arrived_at == first


def test_signing_freezes_the_state_and_names_both_parties(visit, nothing_missing):
    signed = services.sign_visit(visit, **NAMES)
    assert signed.is_signed
    assert [(s.party, s.name, s.role) for s in signed.signatures.all()] == [
        ("contractor", "Ida M.", "service"),
        ("customer", "Tom Q.", "owner"),
    ]


def test_a_signed_visit_is_left_when_it_is_signed(visit, nothing_missing):
    services.arrive(visit, at=datetime(2025, 3, 4, 7, 30, tzinfo=UTC))
    signed = services.sign_visit(visit, **NAMES, at=datetime(2025, 3, 4, 15, 0, tzinfo=UTC))
    assert signed.left_at == signed.signed_at == datetime(2025, 3, 4, 15, 0, tzinfo=UTC)


def test_what_is_missing_stops_the_signature_and_is_named(visit, settings):
    settings.BEFORE_SIGNING = [MISSING]
    with pytest.raises(Refused, match="the sub-spindle was not measured"):
        services.sign_visit(visit, **NAMES)
    visit.refresh_from_db()
    assert not visit.is_signed


def test_a_note_to_come_back_lets_an_unfinished_visit_be_signed(visit, settings):
    settings.BEFORE_SIGNING = [MISSING]
    visit = services.note_come_back(visit, "sub-spindle: waits for a collet")
    assert services.sign_visit(visit, **NAMES).is_signed


@pytest.mark.parametrize(
    "change",
    [
        services.arrive,
        lambda visit: services.note_come_back(visit, "more"),
        lambda visit: services.sign_visit(visit, **NAMES),
    ],
    ids=["arrive", "come back", "sign again"],
)
def test_a_signed_visit_refuses_with_the_day_it_was_signed(visit, nothing_missing, change):
    """Signed at 23:30 UTC, which is the next day in the shop's zone."""
    services.arrive(visit, at=datetime(2025, 3, 4, 7, 30, tzinfo=UTC))
    services.sign_visit(visit, **NAMES, at=datetime(2025, 3, 4, 23, 30, tzinfo=UTC))
    with pytest.raises(Refused, match=r"signed on 5 Mar 2025 and no longer changes"):
        change(visit)


def test_the_report_is_issued_once_and_stays_as_it_was(visit, nothing_missing):
    signed = services.sign_visit(visit, **NAMES)
    first = services.issue_report(signed)
    visit.shop.name = "Renamed Works"
    assert services.issue_report(signed) == first


def test_no_report_is_issued_before_the_signature(visit):
    with pytest.raises(Refused, match="once the visit is signed"):
        services.issue_report(visit)
    assert not Document.objects.exists()


def test_a_correction_is_a_new_visit_that_names_the_old(visit, contractor, firm, nothing_missing):
    signed = services.sign_visit(visit, **NAMES)
    correction = services.correct_visit(
        signed, made_by=contractor, firm=firm, reason="a reading was mistyped"
    )
    assert correction.corrects == signed
    assert correction.number != signed.number
    assert signed.number in correction.purpose


def test_an_unsigned_visit_needs_no_correction(visit, contractor, firm):
    with pytest.raises(Refused, match="can still be changed"):
        services.correct_visit(visit, made_by=contractor, firm=firm, reason="typing")
