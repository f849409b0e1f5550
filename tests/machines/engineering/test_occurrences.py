"""All the times a plan falls due over a while."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines.engineering.due import Interval, WorkRecord
from machines.engineering.meters import MeterReading
from machines.engineering.occurrences import dues_until

ZONE = ZoneInfo("Europe/Zurich")
START = datetime(2026, 1, 31, 8, tzinfo=ZONE)
NOW = datetime(2026, 2, 2, 12, tzinfo=UTC)
END = date(2026, 12, 31)


def days(interval, record=None, now=NOW, last=END):
    record = record or WorkRecord(since=START)
    return [due.on for due in dues_until(interval, record, now, ZONE, last)]


def test_every_quarter_comes_four_times_a_year_at_most():
    assert days(Interval(months=3)) == [date(2026, 4, 30), date(2026, 7, 30), date(2026, 10, 30)]


def test_counted_from_the_day_due_the_31st_comes_back():
    record = WorkRecord(since=START, anchor=START.date())
    assert days(Interval(months=1), record, last=date(2026, 5, 31)) == [
        date(2026, 2, 28),
        date(2026, 3, 31),
        date(2026, 4, 30),
        date(2026, 5, 31),
    ]


def test_what_is_overdue_is_done_today_and_counts_from_there():
    now = datetime(2026, 6, 15, 12, tzinfo=UTC)
    assert days(Interval(months=3), now=now) == [
        date(2026, 4, 30),
        date(2026, 9, 15),
        date(2026, 12, 15),
    ]


def test_hours_come_again_at_the_present_rate():
    """8 h a day: 400 h is every 50 days."""
    readings = tuple(MeterReading(START - timedelta(days=90 - d), 8.0 * d) for d in range(0, 91, 9))
    found = days(Interval(spindle_hours=400), WorkRecord(since=START, hours=readings))
    assert [(b - a).days for a, b in pairwise(found)] == [50] * (len(found) - 1)
    assert found[0] == START.date() + timedelta(days=50)
    assert len(found) == 6


def test_an_incident_calls_for_one_check():
    record = WorkRecord(since=START, incidents=(START + timedelta(days=1),))
    assert days(Interval(after_incident=True), record) == [date(2026, 2, 1)]


def test_the_risk_of_drift_calls_for_one_check():
    record = WorkRecord(since=START, risk_on=date(2026, 5, 1))
    assert days(Interval(at_risk=True), record) == [date(2026, 5, 1)]


def test_a_machine_out_of_service_has_none():
    assert days(Interval(weeks=1), WorkRecord(since=START, in_service=False)) == []


def test_hours_without_a_reading_end_the_list():
    assert days(Interval(spindle_hours=100)) == []


@settings(max_examples=40, deadline=None)
@given(
    months=st.integers(0, 14),
    weeks=st.integers(0, 9),
    day=st.integers(0, 40),
    anchored=st.booleans(),
)
def test_each_time_comes_after_the_one_before(months, weeks, day, anchored):
    if not months + weeks + day:
        day = 1
    record = WorkRecord(since=START, anchor=START.date() if anchored else None)
    found = days(Interval(months=months, weeks=weeks, days=day), record)
    assert found == sorted(set(found))
    assert all(on > START.date() for on in found)


@pytest.mark.parametrize("zone", ["Europe/Zurich", "America/New_York", "Pacific/Honolulu"])
def test_every_day_for_a_year_misses_none_over_the_changes_of_the_clock(zone):
    zone = ZoneInfo(zone)
    record = WorkRecord(since=datetime(2026, 2, 1, 8, tzinfo=zone))
    found = [d.on for d in dues_until(Interval(days=1), record, NOW, zone, date(2026, 12, 31))]
    assert found == [date(2026, 2, 2) + timedelta(days=n) for n in range(333)]
