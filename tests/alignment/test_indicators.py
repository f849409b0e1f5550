"""A firm's indicators: who keeps them, what they make of a sweep, when they are overdue."""

import datetime
from decimal import Decimal

import pytest
from django.urls import reverse
from scipy import special

from alignment.sweeps.models import Check, Indicator
from alignment.sweeps.report import indicators as indicator_section
from shop.visits.reporting import report_of
from tests.alignment.conftest import sweep_url, typed
from tests.factories import FirmFactory

READINGS = ["0", "-0.003", "0", "0.003"]
CLOSED = {
    "name": "lever, short",
    "serial": "L-1",
    "resolution": "0.001",
    "error": "0.003",
    "calibrated_on": "2025-01-10",
    "calibration_due": "2026-01-10",
}


@pytest.fixture
def lever(firm):
    """Stated within ± 3 µm, read to 1 µm, its calibration long overdue."""
    return Indicator.objects.create(
        firm=firm,
        name="lever",
        serial="L-9",
        unit="mm",
        resolution_um=Decimal(1),
        resolution_typed="0.001",
        error_um=Decimal(3),
        error_typed="0.003",
        calibration_due=datetime.date(2020, 1, 1),
    )


def save(at_work, visit, item, **said):
    data = typed(READINGS, reading_u="") | {"save": "check"} | said
    return at_work.post(sweep_url(visit, item), data)


def test_a_contractor_enters_an_indicator_as_it_is_typed(at_work, contractor):
    at_work.post(reverse("alignment:new_indicator"), CLOSED | {"error": "1 tenth"})
    made = Indicator.objects.get()
    assert (made.resolution_um, made.error_um) == (Decimal(1), Decimal("2.54"))
    assert made.error_typed == "1 tenth"


@pytest.mark.parametrize(
    ("field", "typed_in", "said"),
    [
        ("resolution", "0", "more than zero"),
        ("error", "-0.001", "below zero"),
        ("resolution", "a hair", "does not start with a number"),
        ("calibration_due", "2024-01-10", "falls due before it was made"),
        ("serial", "", "required"),
    ],
)
def test_a_wrong_entry_is_refused_and_stays_typed(at_work, field, typed_in, said):
    response = at_work.post(reverse("alignment:new_indicator"), CLOSED | {field: typed_in})
    assert said in response.text
    assert not Indicator.objects.exists()


def test_a_serial_number_stands_once_in_a_firm(at_work, lever):
    response = at_work.post(reverse("alignment:new_indicator"), CLOSED | {"serial": "L-9"})
    assert "already has an indicator" in response.text


@pytest.mark.parametrize(("who", "status"), [("owner", 403), ("operator", 403)])
def test_only_contractors_keep_indicators(client, request, who, status):
    client.force_login(request.getfixturevalue(who))
    assert client.get(reverse("alignment:indicators")).status_code == status


def test_another_firm_s_indicator_does_not_exist(at_work, lever):
    lever.firm = FirmFactory()
    lever.save()
    assert at_work.get(lever.get_absolute_url()).status_code == 404


def test_the_list_says_what_is_overdue_and_goes_out_as_csv(at_work, lever):
    address = reverse("alignment:indicators")
    assert "1 Jan 2020, overdue" in at_work.get(address).text
    assert b"L-9" in at_work.get(f"{address}?_export=csv").content


def test_what_is_stated_of_it_makes_the_uncertainty(at_work, taken_up, bore, lever):
    """± 3 µm rectangular, 3/√3, on half the difference of two readings, √(1/2); a step of 1 µm,
    1/√12, on four readings, √(2/4): 1.2247 and 0.2041 µm, together 1.2416."""
    save(at_work, taken_up, bore, indicator=lever.pk)
    assert Check.objects.get().u_um == pytest.approx(1.2416, abs=1e-4)


def test_an_error_stated_per_travel_counts_over_what_was_read(at_work, taken_up, bore, lever):
    """± 3 µm per 12 µm over the 6 µm read: 1.5/√3 on √(1/2), 0.6124 µm; with 0.2041 µm of the
    resolution together 0.6455."""
    lever.error_travel_um, lever.error_travel_typed = Decimal(12), "0.012"
    lever.save()
    save(at_work, taken_up, bore, indicator=lever.pk)
    check = Check.objects.get()
    assert check.u_um == pytest.approx(0.6455, abs=1e-4)
    page = at_work.get(check.get_absolute_url()).text
    assert "per 0.012 mm of travel" in page or "of travel, read to" in page
    assert "the budget takes that" in page


def test_the_form_asks_which_way_a_certificate_is_read(at_work, contractor):
    new = reverse("alignment:new_indicator")
    assert "read in two ways" in at_work.get(new).text
    assert "more than zero" in at_work.post(new, CLOSED | {"error_travel": "0"}).text
    at_work.post(new, CLOSED | {"error_travel": "0.1"})
    made = Indicator.objects.get()
    assert (made.error_travel_um, made.error_travel_typed) == (Decimal(100), "0.1")
    at_work.post(made.get_absolute_url(), CLOSED | {"error_travel": ""})
    assert Indicator.objects.get().error_travel_um is None


def test_a_signed_check_keeps_what_was_stated_then(at_work, taken_up, bore, lever):
    save(at_work, taken_up, bore, indicator=lever.pk)
    lever.error_um = Decimal(30)
    lever.save()
    assert Check.objects.get().sweeps.get().error_um == Decimal(3)


def test_an_overdue_one_is_said_at_the_sweep_on_the_check_and_in_the_report(
    at_work, taken_up, bore, lever
):
    data = typed(READINGS, reading_u="", indicator=lever.pk)
    live = at_work.post(sweep_url(taken_up, bore, "try_sweep"), data)
    assert "The calibration of lever, L-9 ran out" in live.text
    save(at_work, taken_up, bore, indicator=lever.pk)
    assert "ran out" in at_work.get(Check.objects.get().get_absolute_url()).text
    taken_up.refresh_from_db()
    table = indicator_section(report_of(taken_up))[1]
    assert "calibration overdue" in str(table._cellvalues)


def test_perfect_readings_without_an_indicator_prove_nothing(at_work, taken_up, bore):
    save(at_work, taken_up, bore)
    check = Check.objects.get()
    assert (check.verdict, check.u_um) == ("not proven", None)


def test_another_firm_s_indicator_cannot_be_chosen(at_work, taken_up, bore, lever):
    lever.firm = FirmFactory()
    lever.save()
    save(at_work, taken_up, bore, indicator=lever.pk)
    assert not Check.objects.exists()


def test_the_only_indicator_in_use_is_chosen_from_the_start(at_work, taken_up, bore, lever):
    form = at_work.get(sweep_url(taken_up, bore)).context["form"]
    assert form["indicator"].value() == f"{lever.pk}"
    assert form["reading_u"].value() == ""


def test_the_budget_s_shares_add_up_on_the_check(at_work, taken_up, bore, lever):
    save(at_work, taken_up, bore, indicator=lever.pk)
    rows = at_work.get(Check.objects.get().get_absolute_url()).context["budget"]
    assert [(row.name, row.share) for row in rows] == [
        ("indicator's stated error", "97 %"),
        ("resolution", "3 %"),
    ]


def test_a_mirror_image_of_how_it_was_left_is_warned_of(
    at_work, taken_up, bore, sweep_of, signed, visit, contractor, firm
):
    from tests.factories import VisitFactory

    sweep_of(bore, 3.0, 1.0)
    taken_up.refresh_from_db()
    signed(taken_up)
    later = VisitFactory(shop=visit.shop, firm=firm, contractor=contractor)
    data = typed(["0.001", "0.003", "-0.001", "-0.003"], reading_u="0.0002")
    live = at_work.post(sweep_url(later, bore, "try_sweep"), data)
    assert "both signs turned round" in live.text
    assert "Last left" in live.text


def test_the_chance_of_being_within_stands_beside_the_word(at_work, taken_up, bore, sweep_of):
    """At 10 µm with a circle of 10 µm it is a little less than even: the edge bends inwards
    (non-central chi-squared, exact)."""
    check = sweep_of(bore, 10.0, 0.0)
    page = at_work.get(check.get_absolute_url())
    even = special.chndtr((10 / check.u_um) ** 2, 2, (10 / check.u_um) ** 2)
    assert page.context["probability"] == f"{100 * even:.1f} % likely within its limits"
