"""Hour and part meters: totals over replaced meters, rates of use, and when a total comes."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines.engineering.meters import (
    MeterReading,
    accumulate,
    days_utc,
    projection,
    usage_rate,
)

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


def test_the_rate_is_the_median_of_all_slopes():
    readings = [read(0, 0), read(5, 30), read(9, 80), read(20, 140), read(26, 220)]
    pairs = [
        (b.value - a.value) / ((b.at - a.at) / timedelta(days=1))
        for i, a in enumerate(readings)
        for b in readings[i + 1 :]
    ]
    assert usage_rate(readings).per_day == pytest.approx(np.median(pairs))


def test_an_idle_week_hardly_bends_the_rate():
    days = list(range(0, 100, 7))
    idle = [read(d, 8 * d if d < 50 else 8 * (d - 7)) for d in days]
    rate = usage_rate(idle)
    assert rate.per_day == pytest.approx(8, rel=0.1)
    assert rate.low <= rate.per_day <= rate.high


def test_only_recent_use_counts():
    once_busy = [read(d, 20 * d) for d in range(0, 200, 10)]
    now_slow = [read(200 + d, 4000 + 4 * d) for d in range(0, 130, 10)]
    assert usage_rate(once_busy + now_slow).per_day == pytest.approx(4)


def test_the_last_two_readings_serve_when_none_are_recent():
    rate = usage_rate([read(0, 0), read(400, 400), read(900, 2400)])
    assert rate.per_day == pytest.approx(4)
    assert (rate.low, rate.high) == (None, None)


@pytest.mark.parametrize("readings", [[], [read(0, 5)], [read(0, 5), read(0, 1, new_meter=True)]])
def test_one_moment_gives_no_rate(readings):
    assert usage_rate(readings) is None


def test_nine_in_ten_intervals_cover_the_true_rate():
    rng = np.random.default_rng(2)
    covered = 0
    for _ in range(200):
        use = 8 * np.arange(15.0) * 7 + rng.normal(0, 3, 15)
        readings = [read(7 * i, value) for i, value in enumerate(np.maximum.accumulate(use + 20))]
        rate = usage_rate(readings, recent_days=1000)
        covered += rate.low <= 8 <= rate.high
    assert covered / 200 >= 0.85


def test_thousands_of_readings_are_thinned_and_the_newest_kept():
    rate = usage_rate([read(i / 24, 8 * i / 24) for i in range(2400)])
    assert rate.readings == 200
    assert rate.per_day == pytest.approx(8)


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
