"""Hour and part meters: totals over replaced meters, rates of use, and when a total comes."""

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t as student

from machines.engineering.meters import MeterReading, accumulate, days_utc, projection, usage_rate

START = datetime(2025, 1, 6, 8, tzinfo=UTC)


def read(day, value, new_meter=False):
    return MeterReading(START + timedelta(days=day), value, new_meter)


def steady(days, per_day=8.0, begin=1000.0):
    return [read(day, begin + per_day * day) for day in days]


def test_a_total_counts_from_the_first_reading():
    assert accumulate(steady([0, 10, 20])).totals == pytest.approx([0, 80, 160])


def test_readings_may_come_in_any_order():
    assert accumulate(steady([20, 0, 10])).totals == pytest.approx([0, 80, 160])


def test_a_replaced_meter_goes_on_where_the_old_one_stopped():
    readings = [read(0, 9000), read(10, 9080), read(10, 3, new_meter=True), read(20, 83)]
    assert accumulate(readings).totals == pytest.approx([0, 80, 80, 160])


def test_a_meter_set_back_loses_what_was_not_read():
    readings = [read(0, 9000), read(10, 9080), read(15, 0, new_meter=True), read(25, 80)]
    assert accumulate(readings).totals[-1] == pytest.approx(160)


def test_a_meter_that_goes_down_is_refused_with_both_readings():
    with pytest.raises(ValueError, match=r"goes down from 2,140 on 06 Jan 2025 to 15 on 16 Jan"):
        accumulate([read(0, 2140), read(10, 15)])


def test_between_readings_the_meter_is_taken_to_run_evenly():
    totals = accumulate(steady([0, 10]))
    assert totals.at(START + timedelta(days=2.5)) == pytest.approx(20)
    assert totals.at(START - timedelta(days=5)) == pytest.approx(0)
    assert totals.at(START + timedelta(days=99)) == pytest.approx(80)


def test_the_rate_of_a_steady_machine():
    rate = usage_rate(steady([0, 7, 14, 21, 28]))
    assert rate.per_day == pytest.approx(8)
    assert (rate.low, rate.high) == pytest.approx((8, 8))


def test_the_rate_is_what_was_used_over_the_days_it_took():
    readings = [read(0, 0), read(5, 30), read(9, 80), read(20, 140), read(26, 220)]
    assert usage_rate(readings).per_day == pytest.approx(220 / 26)


def test_a_reading_mistyped_in_between_does_not_bend_the_rate():
    assert usage_rate([read(0, 0), read(30, 100), read(60, 480)]).per_day == pytest.approx(8)


def test_only_recent_use_counts():
    once_busy = [read(d, 20 * d) for d in range(0, 200, 10)]
    now_slow = [read(200 + d, 4000 + 4 * d) for d in range(0, 130, 10)]
    assert usage_rate(once_busy + now_slow).per_day == pytest.approx(4)


def test_the_last_four_readings_serve_when_fewer_are_recent():
    seldom = usage_rate([read(0, 0), read(130, 800), read(260, 1700), read(390, 2500)])
    assert seldom.per_day == pytest.approx(2500 / 390)
    assert seldom.low < seldom.per_day < seldom.high


def test_the_last_two_readings_serve_when_none_are_recent():
    rate = usage_rate([read(0, 0), read(400, 400), read(900, 2400)])
    assert rate.per_day == pytest.approx(4)
    assert (rate.low, rate.high) == (None, None)


@pytest.mark.parametrize("readings", [[], [read(0, 5)], [read(0, 5), read(0, 1, new_meter=True)]])
def test_one_moment_gives_no_rate(readings):
    assert usage_rate(readings) is None


def test_the_interval_is_students_of_what_was_used_in_four_weeks_each():
    rate = usage_rate([read(0, 0), read(7, 40), read(28, 150), read(56, 330), read(84, 570)])
    per_day, used = 570 / 84, np.array([150, 180, 240])
    variance = ((used - 28 * per_day) ** 2 / 28).sum() / 2
    half = student.ppf(0.95, 2) * math.sqrt(variance / 84)
    assert (rate.low, rate.high) == pytest.approx((per_day - half, per_day + half))


def test_dates_spread_by_the_days_to_come_and_by_what_is_not_known_of_the_mean():
    uneven = [read(0, 0), read(28, 150), read(56, 330), read(84, 570)]
    rate = usage_rate(uneven)
    for days in rate.days_until(1000)[1:]:
        spread = math.sqrt(rate.variance * (days + days**2 / 84))
        assert abs(1000 - rate.per_day * days) == pytest.approx(rate.factor * spread)


def shifts(days):
    """Readings each evening of a shop that runs 16 h on working days and 8 h on Saturdays."""
    use = [16, 16, 16, 16, 16, 8, 0]
    total, readings = 0.0, [read(0, 0.0)]
    for day in range(days):
        total += use[day % 7]
        readings.append(read(day + 1, total))
    return readings


def test_readings_of_every_day_show_what_each_day_of_the_week_counts():
    # The first reading is of a Monday at 8; here each day's use is read at its own midnight.
    readings = [replace(r, at=r.at - timedelta(hours=8)) for r in shifts(70)]
    week = usage_rate(readings).week
    assert np.array(week.weights) * 88 / 7 == pytest.approx([16, 8, 0])
    totals = accumulate(readings[:69])
    found = projection(totals, totals.totals[-1] + 12, START)
    # From Friday's midnight: 8 h on Saturday, none on Sunday, 4 of the 16 h of Monday.
    assert abs(found.at - (START + timedelta(days=70, hours=-2))) < timedelta(minutes=20)


def test_a_closed_day_counts_as_a_sunday():
    readings = [replace(r, at=r.at - timedelta(hours=8)) for r in shifts(70)]
    totals = accumulate(readings)
    monday = (START + timedelta(days=70)).date()
    open_all = projection(totals, totals.totals[-1] + 8, START)
    closed = projection(totals, totals.totals[-1] + 8, START, closed=[monday])
    assert closed.at - open_all.at == timedelta(days=1)


def test_readings_once_a_week_leave_every_day_alike():
    assert usage_rate(steady(range(0, 120, 7))).week.is_even


def test_a_clock_change_does_not_bend_a_rate():
    # Summer time began in Berlin on 30 March 2025: from noon to noon was 23 hours.
    zone = ZoneInfo("Europe/Berlin")
    before = datetime(2025, 3, 29, 12, tzinfo=zone)
    after = datetime(2025, 3, 30, 12, tzinfo=zone)
    rate = usage_rate([MeterReading(before, 0), MeterReading(after, 23)])
    assert rate.per_day == pytest.approx(24)


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="needs its time zone"):
        days_utc(datetime(2025, 1, 6, 8))


def test_a_total_already_read_is_dated_between_the_readings_about_it():
    found = projection(accumulate(steady([0, 10, 20])), 100, START)
    assert found.read
    assert found.at == START + timedelta(days=12.5)


def test_nothing_at_all_was_reached_with_the_first_reading():
    assert accumulate(steady([0, 10])).reached(0) == START


def test_a_total_to_come_is_projected_at_the_present_rate():
    found = projection(accumulate(steady([0, 7, 14])), 200, START)
    assert not found.read
    assert abs(found.at - (START + timedelta(days=25))) < timedelta(seconds=1)


def test_uneven_use_spreads_the_projection():
    uneven = [read(0, 0), read(7, 30), read(14, 110), read(21, 150), read(28, 240)]
    found = projection(accumulate(uneven), 400, START)
    assert found.earliest < found.at < found.latest


@pytest.mark.parametrize(
    "readings",
    [[read(0, 5)], [read(0, 5), read(30, 5)], [read(0, 5), read(30, 5.001)]],
    ids=["one reading", "standing still", "next to still"],
)
def test_a_machine_that_hardly_runs_gets_no_date(readings):
    assert projection(accumulate(readings), 2000, START).at is None


def test_no_reading_at_all_cannot_be_projected():
    with pytest.raises(ValueError, match="Without a meter reading"):
        projection(accumulate([]), 2000, START)


steps = st.lists(st.floats(0, 200), min_size=2, max_size=12)


@settings(max_examples=60)
@given(steps, st.floats(1, 500), st.floats(0, 500))
def test_a_higher_total_is_never_reached_sooner(increments, target, more):
    totals = accumulate(read(7 * i, v) for i, v in enumerate(np.cumsum(increments)))
    sooner, later = projection(totals, target, START), projection(totals, target + more, START)
    if sooner.at and later.at:
        assert later.at >= sooner.at
