"""When planned checks are due: by date, hours, parts, incident or risk, whichever is first."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines.engineering.due import Due, Interval, WorkRecord, due, next_by_date
from machines.engineering.meters import MeterReading

ZONE = ZoneInfo("Europe/Berlin")
DONE = datetime(2025, 1, 6, 8, tzinfo=UTC)
NOW = datetime(2025, 4, 16, 8, tzinfo=UTC)  # a Wednesday


def hours(*pairs):
    return tuple(MeterReading(DONE + timedelta(days=day), value) for day, value in pairs)


def hourly(per_day, days=100):
    return hours(*((day, 500 + per_day * day) for day in range(0, days + 1, 10)))


RECORD = WorkRecord(since=DONE, hours=hourly(8), parts=hourly(200))


def ask(interval, record=RECORD, now=NOW, zone=ZONE):
    return due(interval, record, now, zone)


def test_half_a_year_after_the_last():
    found = ask(Interval(months=6))
    assert (found.on, found.kind) == (date(2025, 7, 6), "date")
    assert found.reason == "every 6 months, last 6 Jan 2025"


def test_a_plan_never_done_says_so():
    found = ask(Interval(years=1), replace(RECORD, never_done=True))
    assert found.reason == "every year, never done"


@pytest.mark.parametrize(
    ("interval", "words"),
    [
        (Interval(months=1), "every month"),
        (Interval(years=2, months=6), "every 2 years and 6 months"),
        (Interval(weeks=2), "every 2 weeks"),
        (Interval(days=10), "every 10 days"),
    ],
)
def test_calendar_steps_in_words(interval, words):
    assert interval.in_words == words


def test_hours_to_come_are_projected_with_an_interval():
    found = ask(Interval(spindle_hours=1000))
    # 8 h a day from 6 January: 125 days to 1,000 h.
    assert found.on == date(2025, 5, 11)
    assert found.earliest <= found.on <= found.latest
    assert not found.passed
    assert found.reason == "800 of 1,000 h"


def test_two_readings_project_a_day_without_saying_how_sure_it_is():
    two = replace(RECORD, hours=hours((0, 500), (100, 1300)))
    assert ask(Interval(spindle_hours=1000), two).is_unbounded
    assert not ask(Interval(spindle_hours=1000)).is_unbounded
    assert not ask(Interval(spindle_hours=750), two).is_unbounded
    assert not ask(Interval(months=6)).is_unbounded


@pytest.mark.parametrize("days", [20, 50, 80, 120])
def test_at_steady_use_the_date_stands_still_as_readings_come_in(days):
    found = ask(Interval(spindle_hours=1000), replace(RECORD, hours=hourly(8, days)))
    assert found.on == date(2025, 5, 11)


def test_hours_passed_on_the_meter_are_overdue_since_the_day_they_were_passed():
    found = ask(Interval(spindle_hours=750))
    assert found.on == date(2025, 4, 10)
    assert found.passed
    assert found.reason == "800 of 750 h"
    assert found.bucket(NOW.date()) == "overdue"


def test_hours_since_the_last_reading_are_estimated_and_called_about():
    found = ask(Interval(spindle_hours=1000), now=NOW + timedelta(days=10))
    assert found.reason.startswith("about 88")
    assert found.on == date(2025, 5, 11)


def test_parts_made_count_like_hours():
    found = ask(Interval(parts=30_000))
    assert (found.kind, found.reason) == ("parts", "20,000 of 30,000 parts")
    assert found.on == date(2025, 6, 5)


def test_whichever_comes_first():
    both = Interval(months=6, spindle_hours=1000)
    assert ask(both).kind == "spindle hours"
    assert ask(both, replace(RECORD, hours=hourly(2))).kind == "date"


def test_a_replaced_meter_does_not_start_the_count_again():
    changed = (
        *hours((0, 9000), (50, 9400)),
        MeterReading(DONE + timedelta(days=50), 2, new_meter=True),
        *hours((100, 402)),
    )
    assert ask(Interval(spindle_hours=2000), replace(RECORD, hours=changed)).reason == (
        "800 of 2,000 h"
    )


def test_hours_count_from_the_day_done_not_from_the_first_reading():
    later = replace(RECORD, since=DONE + timedelta(days=50))
    assert ask(Interval(spindle_hours=1000), later).reason == "400 of 1,000 h"


def test_without_a_reading_there_is_no_date_and_the_reason_says_why():
    found = ask(Interval(spindle_hours=2000), replace(RECORD, hours=()))
    assert found.on is None
    assert found.reason == "every 2,000 h, no meter reading yet"
    assert found.bucket(NOW.date()) == "later"


def test_a_machine_standing_still_keeps_its_calendar_date():
    still = replace(RECORD, hours=hours((0, 500), (100, 500)))
    assert ask(Interval(months=6, spindle_hours=1000), still).on == date(2025, 7, 6)
    assert ask(Interval(spindle_hours=1000), still).on is None


def test_an_incident_makes_it_due_on_that_day():
    crash = datetime(2025, 3, 3, 14, tzinfo=UTC)
    found = ask(Interval(months=6, after_incident=True), replace(RECORD, incidents=(crash,)))
    assert (found.on, found.reason) == (date(2025, 3, 3), "incident on 3 Mar 2025")


def test_an_incident_already_looked_after_does_not_count():
    before = DONE - timedelta(days=1)
    assert ask(Interval(after_incident=True), replace(RECORD, incidents=(before,))) is None


def test_the_forecast_risk_brings_a_check_forward():
    at_risk = replace(RECORD, risk_on=date(2025, 5, 2), risk=0.1)
    found = ask(Interval(months=6, at_risk=True), at_risk)
    assert (found.on, found.reason) == (date(2025, 5, 2), "risk of drift reaches 10 %")


def test_nothing_is_due_on_a_machine_taken_out_of_service():
    assert ask(Interval(days=1), replace(RECORD, in_service=False)) is None


@pytest.mark.parametrize(
    ("on", "bucket"),
    [
        (date(2025, 4, 15), "overdue"),
        (date(2025, 4, 16), "this week"),
        (date(2025, 4, 20), "this week"),
        (date(2025, 4, 21), "this month"),
        (date(2025, 4, 30), "this month"),
        (date(2025, 5, 1), "later"),
        (date(2026, 4, 30), "later"),
        (None, "later"),
    ],
)
def test_what_is_due_is_sorted_by_week_and_month(on, bucket):
    assert Due(on, "", "date").bucket(date(2025, 4, 16)) == bucket


def test_a_week_that_runs_into_the_next_month_is_still_this_week():
    assert Due(date(2025, 5, 4), "", "date").bucket(date(2025, 4, 30)) == "this week"


def test_the_shop_decides_which_day_it_was():
    # 23:30 UTC on 6 January is already the 7th in Berlin and still the 6th in Chicago.
    late = replace(RECORD, since=datetime(2025, 1, 6, 23, 30, tzinfo=UTC))
    assert ask(Interval(days=10), late).on == date(2025, 1, 17)
    assert ask(Interval(days=10), late, zone=ZoneInfo("America/Chicago")).on == date(2025, 1, 16)


def test_a_day_of_clock_change_is_one_day():
    # 00:30 in Berlin on 26 October 2025, the day of 25 hours.
    before = replace(RECORD, since=datetime(2025, 10, 26, 0, 30, tzinfo=ZONE))
    assert ask(Interval(days=1), before).on == date(2025, 10, 27)


def test_counting_from_the_day_done_moves_the_plan():
    assert next_by_date(Interval(months=3), date(2025, 4, 20)) == date(2025, 7, 20)


@pytest.mark.parametrize(
    ("done", "closed", "following"),
    [
        (date(2025, 4, 20), date(2025, 4, 1), date(2025, 7, 1)),  # late
        (date(2025, 3, 25), date(2025, 4, 1), date(2025, 7, 1)),  # early
        (date(2025, 4, 1), date(2025, 4, 1), date(2025, 7, 1)),  # on the day
        (date(2025, 8, 9), date(2025, 4, 1), date(2025, 10, 1)),  # a whole step late
    ],
)
def test_counting_from_the_day_due_keeps_the_plan(done, closed, following):
    found = next_by_date(Interval(months=3), done, date(2025, 1, 1), closed)
    assert found == following


def test_a_plan_of_the_31st_comes_back_to_the_31st():
    months = Interval(months=1)
    assert next_by_date(months, date(2025, 2, 28), date(2025, 1, 31), date(2025, 2, 28)) == date(
        2025, 3, 31
    )


def test_a_plan_of_the_leap_day_comes_back_to_the_leap_day():
    yearly = Interval(years=1)
    anchor = date(2024, 2, 29)
    assert next_by_date(yearly, anchor, anchor) == date(2025, 2, 28)
    assert next_by_date(yearly, date(2027, 2, 28), anchor) == date(2028, 2, 29)


def test_hours_of_a_plan_that_counts_from_the_day_due_go_on_from_there():
    # Due on 7 March (480 h), done ten days later (560 h): the count has gone on since then.
    late = replace(
        RECORD,
        since=DONE + timedelta(days=70),
        anchor=date(2025, 1, 6),
        closed_due=date(2025, 3, 7),
    )
    from_done = replace(late, anchor=None)
    assert ask(Interval(spindle_hours=500), from_done).reason == "240 of 500 h"
    assert ask(Interval(spindle_hours=500), late).reason == "323 of 500 h"


@pytest.mark.parametrize(
    ("given_interval", "message"),
    [
        ({}, "needs an interval above zero"),
        ({"months": 0}, "needs an interval above zero"),
        ({"days": -1}, "number of days must be at least 0, not -1"),
        ({"months": 1.5}, "number of months must be a whole number"),
        ({"spindle_hours": 0}, "interval in spindle hours must be more than zero"),
        ({"parts": 0}, "interval in parts must be at least 1"),
        ({"years": 60}, "more than 50 years is no plan"),
    ],
)
def test_intervals_that_plan_nothing_are_refused(given_interval, message):
    with pytest.raises(ValueError, match=message):
        Interval(**given_interval)


def test_a_meter_going_down_is_refused():
    with pytest.raises(ValueError, match="The meter goes down"):
        ask(Interval(spindle_hours=10), replace(RECORD, hours=hours((0, 500), (9, 400))))


def test_an_interval_without_time_has_no_next_date():
    with pytest.raises(ValueError, match="has no time in it"):
        next_by_date(Interval(spindle_hours=100), date(2025, 1, 1))


def test_asking_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="needs its time zone"):
        ask(Interval(months=1), now=datetime(2025, 4, 16))


run = st.lists(st.floats(0, 150), min_size=1, max_size=10)


def meter(weekly):
    total, readings = 0.0, [(0, 0.0)]
    for week, step in enumerate(weekly, start=1):
        total += step
        readings.append((7 * week, total))
    return hours(*readings)


@settings(max_examples=60)
@given(run, run, st.floats(10, 800))
def test_once_reached_more_hours_never_move_the_due_date(weekly, more, limit):
    before = ask(Interval(spindle_hours=limit), replace(RECORD, hours=meter(weekly)))
    after = ask(Interval(spindle_hours=limit), replace(RECORD, hours=meter(weekly + more)))
    if sum(weekly) >= limit:
        assert after.on == before.on


@settings(max_examples=60)
@given(run, st.floats(10, 800), st.floats(0, 800))
def test_a_longer_interval_is_never_due_sooner(weekly, limit, more):
    record = replace(RECORD, hours=meter(weekly))
    shorter = ask(Interval(spindle_hours=limit), record)
    longer = ask(Interval(spindle_hours=limit + more), record)
    if shorter.on and longer.on:
        assert longer.on >= shorter.on


@settings(max_examples=80)
@given(
    run,
    st.integers(0, 3),
    st.integers(0, 60),
    st.floats(1, 400),
    st.integers(0, 200),
    st.one_of(st.none(), st.dates(date(2024, 1, 1), date(2025, 12, 31))),
    st.one_of(st.none(), st.dates(date(2024, 1, 1), date(2025, 12, 31))),
)
def test_nothing_is_due_before_it_was_last_done(
    weekly, months, days, limit, done_after, anchor, other
):
    since = DONE + timedelta(days=done_after)
    record = WorkRecord(
        since=since, anchor=anchor, closed_due=other, hours=meter(weekly), risk_on=other
    )
    interval = Interval(months=months, days=days, spindle_hours=limit, at_risk=True)
    found = due(interval, record, NOW, UTC)
    assert found.on is None or found.on >= since.date()


@settings(max_examples=60)
@given(
    st.dates(date(2020, 1, 1), date(2030, 12, 31)),
    st.integers(1, 24),
    st.integers(0, 2000),
)
def test_a_plan_from_the_day_due_never_skips_a_whole_step(anchor, months, done_after):
    interval = Interval(months=months)
    done = anchor + timedelta(days=done_after)
    following = next_by_date(interval, done, anchor)
    assert done < following <= done + interval.calendar + timedelta(days=3)
