"""Drift from the records: what counts as a move, in what time, and borrowed from whom."""

from datetime import timedelta

import pytest
from django.utils import timezone

from alignment.drift import drift_of, drift_of_item, drifts
from alignment.drift.clock import Per
from alignment.drift.pages import Told, track_headings
from alignment.drift.words import notes
from alignment.geometry.measure.verdict import coverage_factor
from alignment.sheets.formatting import quantity_words
from alignment.sweeps.models import Check
from machines.drive.models import Thresholds
from machines.incidents.models import Incident
from machines.register.models import Machine
from tests import factories
from tests.alignment.drifting import day, knock, seen, steady


@pytest.fixture(autouse=True)
def _works_there(contractor):
    """The firm's contractor, in whose name `seen` measures."""


def like(machine, number):
    """Another machine of the same model; returns its guide bushing's bore."""
    Machine.objects.filter(pk=machine.pk).update(model_name="20-5")
    other = factories.five_station_machine(machine.shop, number=number, model_name="20-5")
    return factories.item_of(other, "guide bushing")


def moves(item):
    return [move.um for move in drift_of_item(item).moves]


def test_what_was_adjusted_at_a_visit_is_no_drift(bore):
    seen(bore, 400, (5, 0), (1, 0))
    seen(bore, 30, (4, 0), (0, 0))
    (moved,) = moves(bore)
    assert moved == pytest.approx((3, 0), abs=0.1)


def test_where_nothing_was_moved_the_as_found_is_what_the_next_move_starts_from(bore):
    seen(bore, 400, (2, 0))
    seen(bore, 30, (2, 3))
    (moved,) = moves(bore)
    assert moved == pytest.approx((0, 3), abs=0.1)


def test_a_datum_moved_without_measuring_anew_leaves_the_item_unknown(machine, bore, contractor):
    """The sub-spindle is measured from the guide bushing, which was moved last."""
    sub = factories.item_of(machine, "sub-spindle")
    visit = seen(sub, 400, (2, 0))
    from alignment.adjusting.services import record_adjustment

    record_adjustment(
        visit=visit, station=bore.station, what="set over", made_by=contractor, made_at=day(400, 12)
    )
    seen(sub, 30, (5, 0))
    assert moves(sub) == [None]


def test_the_rate_is_that_of_the_moves_over_the_years(bore):
    steady(bore, rate_um=3.0)
    rate = drift_of_item(bore).rate
    assert rate.per == Per.YEAR
    assert rate.um == pytest.approx((3.0, 0.2), abs=0.3)
    assert rate.low_um[0] < 3.0 < rate.high_um[0]


def test_with_a_meter_the_rate_is_per_1000_spindle_hours(machine, bore, contractor):
    """2,000 h a year: half of what it is per year."""
    factories.metered(machine, contractor, {day(30 + 365 * n): 2000 * (4 - n) for n in range(5)})
    steady(bore, rate_um=3.0)
    rate = drift_of_item(bore).rate
    assert rate.per == Per.HOURS
    assert rate.um[0] == pytest.approx(1.5, abs=0.2)


def test_visits_without_a_meter_reading_are_told(machine, bore, contractor):
    factories.metered(machine, contractor, {day(30): 8000, day(1490): 0})
    steady(bore)
    (said,) = [one for one in notes(drift_of_item(bore), "mm") if "No hours were read" in one]
    assert "at 3 of 5 visits" in said


def test_a_chance_from_few_degrees_of_freedom_says_how_far_it_may_be_off(bore):
    steady(bore)
    assert not [one for one in notes(drift_of_item(bore), "mm") if "points in a hundred" in one]
    newest = Check.objects.latest("made_at")
    sure = drift_of_item(bore).chance
    Check.objects.filter(pk=newest.pk).update(coverage=coverage_factor(1))
    drift = drift_of_item(bore)
    assert drift.chance > sure
    (said,) = [one for one in notes(drift, "mm") if "points in a hundred" in one]
    assert "1.0 degrees of freedom" in said
    assert "by up to 6 points" in said


def test_a_meter_first_read_long_after_the_first_visit_is_not_used(machine, bore, contractor):
    factories.metered(machine, contractor, {day(300): 10, day(30): 900})
    steady(bore)
    assert drift_of_item(bore).rate.per == Per.YEAR


def test_an_incident_between_visits_has_its_step_with_an_interval(machine, bore):
    steady(bore, rate_um=1.0, last=60)
    knock(machine, 40)
    seen(bore, 5, (21, 0), (1, 0))
    last = drift_of_item(bore).moves[-1]
    assert last.step_um[0] == pytest.approx(20, abs=1)
    assert last.step_low_um[0] < 20 < last.step_high_um[0]


def test_an_incident_at_another_station_is_none_of_this_item(machine, bore):
    from machines.incidents.models import IncidentStation

    steady(bore, last=60)
    hit = IncidentStation.objects.create(
        incident=knock(machine, 40), station=factories.station_of(machine, "gang tools")
    )
    seen(bore, 5, (1.5, 0), (1, 0))
    assert drift_of_item(bore).moves[-1].knocks == ()
    IncidentStation.objects.filter(pk=hit.pk).update(station=bore.station)
    assert drift_of_item(bore).moves[-1].knocks == (hit.incident,)


@pytest.mark.parametrize("kind", [Incident.Kind.NOISE, Incident.Kind.LEAK])
def test_what_moves_no_casting_is_no_knock(machine, bore, kind):
    steady(bore)
    knock(machine, 10, kind=kind)
    assert not drift_of_item(bore).disturbed


def test_a_machine_seen_once_borrows_from_its_like(machine, bore):
    for number in ("M2", "M3", "M4"):
        steady(like(machine, number), rate_um=2.5)
    seen(bore, 100, (1, 0))
    found = drift_of_item(bore)
    assert (found.rate.share, found.rate.others) == (1.0, 3)
    assert found.risk_day is not None


def test_a_machine_borrows_only_where_the_person_may_see(machine, bore, owner):
    for number in ("M2", "M3"):
        steady(like(machine, number))
    elsewhere = factories.five_station_machine(number="X1", model_name="20-5")
    factories.MembershipFactory(
        user=factories.UserFactory(), shop=elsewhere.shop, role="contractor",
        firm=factories.FirmFactory(),
    )  # fmt: skip
    steady(factories.item_of(elsewhere, "guide bushing"))
    seen(bore, 100, (1, 0))
    assert drift_of_item(bore, owner).rate.others == 2


def test_without_a_model_there_is_nobody_to_borrow_from(machine, bore):
    for number in ("M2", "M3"):
        steady(like(machine, number))
    Machine.objects.filter(pk=machine.pk).update(model_name="")
    seen(bore, 100, (1, 0))
    bore.refresh_from_db()
    assert drift_of_item(factories.item_of(machine, "guide bushing")).rate is None


def test_the_risk_is_the_shop_s_own(machine, bore):
    steady(bore, rate_um=2.0, last=10)
    usual = drift_of_item(bore).risk_day
    Thresholds.objects.create(shop=machine.shop, drift_risk_percent=30)
    chosen = drift_of_item(bore)
    assert chosen.risk == 0.30
    assert chosen.risk_day > usual


def test_what_was_entered_later_is_not_looked_at(bore):
    steady(bore)
    before = drift_of(bore.station.machine, until=day(200))
    by_item = {one.item.pk: one for one in before}
    assert len(by_item[bore.pk].moves) == 3


def test_many_machines_take_as_many_queries_as_one(
    machine, bore, contractor, django_assert_max_num_queries
):
    def loaded():
        return drifts(list(Machine.objects.all()), lenders=Machine.objects.all(), changes=True)

    steady(bore, years=2)
    knock(machine, 100)
    factories.metered(machine, contractor, {day(760): 0, day(30): 4000})
    with django_assert_max_num_queries(15) as few:
        loaded()
    for number in range(2, 6):
        other = like(machine, f"M{number}")
        steady(other, years=3)
        knock(other.station.machine, 100)
    with django_assert_max_num_queries(len(few)):
        found = loaded()
    assert len(found) == 5


def test_a_tilt_is_brought_to_the_length_the_sheet_in_force_states_it_for(machine, bore):
    """5 µm per 100 mm are 15 µm per 300 mm."""
    from alignment.sheets.models import AcceptanceItem

    tilt = factories.AcceptanceItemFactory(
        sheet=bore.sheet, station=bore.station, quantity="tilt", upper_um=20, per_mm=300, position=9
    )
    visit = seen(bore, 30, (1, 0))
    Check.objects.create(
        visit=visit, item=tilt, phase="as found", right_um=3, up_um=4, value_um=5, u_um=0.5,
        coverage=2, verdict="within", per_mm=100, upper_um=20, made_by=visit.contractor,
        made_at=day(30),
    )  # fmt: skip
    drift = drift_of_item(AcceptanceItem.objects.get(pk=tilt.pk))
    assert drift.series.last.found.vector_um == pytest.approx((9, 12))
    assert drift.series.last.found.value_um == pytest.approx(15)


def test_a_run_out_whose_high_spot_went_round_has_moved(bore):
    """12 µm at both visits, yet its axis went from 5 µm to the front to 5 µm up; 2 µm are form."""
    run_out = factories.AcceptanceItemFactory(
        sheet=bore.sheet, station=bore.station, quantity="tir", upper_um=20, position=9
    )
    for days_ago, (right, up) in ((400, (5, 0)), (30, (0, 5))):
        visit = seen(bore, days_ago, (1, 0))
        Check.objects.create(
            visit=visit, item=run_out, phase="as found", right_um=right, up_um=up, value_um=12,
            u_um=1, coverage=2, verdict="within", upper_um=20, made_by=visit.contractor,
            made_at=day(days_ago),
        )  # fmt: skip
    drift = drift_of_item(run_out)
    (move,) = drift.moves
    assert abs(move.um[0]) == pytest.approx(5) == abs(move.um[1])
    assert drift.series.form_um == pytest.approx(2)
    assert drift.start.cov_um2[0] == pytest.approx(0.25)
    assert track_headings(run_out)[-2:] == ["Off by", quantity_words(run_out)]
    assert Told(drift, "mm").track_rows[0][-2:] == ["0.0050 mm", "0.0120 mm"]


def test_the_forecast_counts_from_today_not_from_the_last_visit(bore):
    steady(bore, rate_um=2.0, last=30)
    soon = drift_of_item(bore).chance
    later = drifts([bore.station.machine], until=timezone.now() + timedelta(days=1500))
    by_item = {one.item.pk: one for one in later[bore.station.machine.pk]}
    assert by_item[bore.pk].chance > soon
