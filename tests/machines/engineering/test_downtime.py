"""Standing still and running, month by month: once, in the shop's zone, to the hour."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from machines.engineering.downtime import Stretch, downtime, month_first

ZURICH = ZoneInfo("Europe/Zurich")
NEW_YORK = ZoneInfo("America/New_York")
LATER = datetime(2030, 1, 1, tzinfo=UTC)
DAY = timedelta(days=1)


def hours(count):
    return timedelta(hours=count)


def local(month, day, hour=0, minute=0, zone=ZURICH, year=2025):
    return datetime(year, month, day, hour, minute, tzinfo=zone)


def year(*stops, now=LATER, **more):
    return downtime(stops, date(2025, 1, 1), 12, ZURICH, now, **more)


def test_a_stop_over_the_turn_of_a_month_is_split_at_the_shop_s_midnight():
    """23:00 UTC on 31 January is midnight in Zurich, an hour ahead in winter."""
    stop = Stretch(
        datetime(2025, 1, 31, 20, tzinfo=UTC), datetime(2025, 2, 1, 5, tzinfo=UTC), "a hit"
    )
    january, february = year(stop).months[:2]
    assert january.stopped == {"a hit": hours(3)}
    assert february.stopped == {"a hit": hours(6)}


@pytest.mark.parametrize(
    ("zone", "month", "long"),
    [
        (ZURICH, 3, 743),
        (ZURICH, 10, 745),
        (ZURICH, 1, 744),
        (NEW_YORK, 3, 743),
        (NEW_YORK, 11, 721),
        (UTC, 3, 744),
    ],
)
def test_a_month_in_which_the_clocks_change_has_an_hour_less_or_more(zone, month, long):
    """Summer time begins on the last Sunday of March and ends on that of October (Directive
    2000/84/EC, from memory); in the United States on the second of March and the first of November
    (Energy Policy Act of 2005, section 110, from memory)."""
    (only,) = downtime([], date(2025, month, 1), 1, zone, LATER).months
    assert only.running == hours(long)


def test_a_night_in_which_the_clocks_go_forward_is_an_hour_shorter():
    stop = Stretch(local(3, 29, 12), local(3, 30, 12), "a hit")
    assert year(stop).stopped == hours(23)


def test_overlapping_stops_count_once_for_the_one_that_began_first():
    found = year(
        Stretch(local(5, 3), local(5, 5), "a noise"),
        Stretch(local(5, 2), local(5, 4), "a hit"),
    )
    assert found.by_cause == {"a hit": 2 * DAY, "a noise": DAY}
    assert found.stopped == 3 * DAY


def test_a_stop_within_another_adds_nothing():
    found = year(
        Stretch(local(5, 2), local(5, 9), "a hit"), Stretch(local(5, 3), local(5, 4), "a leak")
    )
    assert found.by_cause == {"a hit": 7 * DAY}


def test_a_stop_that_goes_on_counts_to_now():
    found = year(Stretch(local(5, 2), None, "a hit"), now=local(5, 4, 12))
    assert found.stopped == hours(60)


def test_nothing_counts_after_now():
    found = year(now=local(2, 1))
    assert [month.running for month in found.months[:3]] == [31 * DAY, timedelta(0), timedelta(0)]


def test_nothing_counts_before_the_record_begins():
    found = year(now=local(2, 1), since=local(1, 31))
    assert found.running == DAY


def test_time_out_of_service_is_neither_stopped_nor_running():
    found = year(
        Stretch(local(5, 2), local(5, 6), "a hit"),
        out=[Stretch(local(5, 3), local(5, 4)), Stretch(local(5, 5), None)],
        now=local(6, 1),
    )
    may = found.months[4]
    assert may.stopped == {"a hit": 2 * DAY}
    assert may.out == 28 * DAY
    assert may.running == DAY

    found = year(
        Stretch(local(1, 1), local(1, 2), "a hit"), out=[Stretch(local(1, 5), None)], now=LATER
    )


def test_twelve_months_run_over_the_turn_of_the_year():
    assert [month_first(date(2025, 11, 20), n) for n in (0, 1, 2, 14)] == [
        date(2025, 11, 1),
        date(2025, 12, 1),
        date(2026, 1, 1),
        date(2027, 1, 1),
    ]


@pytest.mark.parametrize(
    ("stop", "said"),
    [
        (Stretch(datetime(2025, 1, 1), None), "needs its time zone"),
        (Stretch(local(2, 2), local(2, 1)), "before it began"),
    ],
)
def test_what_cannot_be_is_refused(stop, said):
    with pytest.raises(ValueError, match=said):
        year(stop)


def test_no_month_at_all_is_refused():
    with pytest.raises(ValueError, match="a month at least"):
        downtime([], date(2025, 1, 1), 0, ZURICH, LATER)


EPOCH = datetime(2024, 11, 1, tzinfo=UTC)
minutes = st.integers(0, 600 * 24 * 60)


@st.composite
def stretches(draw):
    first, second = sorted([draw(minutes), draw(minutes)])
    until = None if draw(st.booleans()) and draw(st.booleans()) else moment(second)
    return Stretch(moment(first), until, draw(st.sampled_from(["a hit", "a noise", "a leak"])))


def moment(minute):
    return EPOCH + timedelta(minutes=minute)


@given(
    st.lists(stretches(), max_size=6),
    st.lists(stretches(), max_size=3),
    st.sampled_from([ZURICH, NEW_YORK, UTC]),
    minutes,
)
def test_the_months_add_up_to_the_whole(stops, out, zone, minute):
    now = moment(minute)
    found = downtime(stops, date(2025, 1, 1), 12, zone, now, out=out)
    begin = datetime(2025, 1, 1, tzinfo=zone).astimezone(UTC)
    end = datetime(2026, 1, 1, tzinfo=zone).astimezone(UTC)
    whole = max(timedelta(0), min(now, end) - begin)
    assert found.stopped + found.running + found.out == whole
    assert found.stopped == sum((m.total_stopped for m in found.months), timedelta(0))
    assert all(month.running >= timedelta(0) for month in found.months)


@given(st.lists(stretches(), max_size=6), st.lists(stretches(), max_size=3), minutes)
def test_time_stopped_is_what_any_stop_covers_and_no_break_does(stops, out, minute):
    """Counted the slow way: between each two moments at which anything begins or ends."""
    now = moment(minute)
    begin, end = datetime(2025, 1, 1, tzinfo=UTC), datetime(2026, 1, 1, tzinfo=UTC)
    found = downtime(stops, date(2025, 1, 1), 12, UTC, now, out=out)
    marks = {begin, end, now}
    for one in [*stops, *out]:
        marks |= {one.since, one.until or now}
    marks = sorted(mark for mark in marks if begin <= mark <= min(end, now))
    slow = timedelta(0)
    for since, until in pairwise(marks):
        if covered(since, stops, now) and not covered(since, out, now):
            slow += until - since
    assert found.stopped == slow


def covered(at, stretches, now):
    return any(one.since <= at < (one.until or now) for one in stretches)


@given(st.permutations([(1, 9), (3, 5), (4, 12), (20, 21)]))
def test_the_order_of_the_stops_makes_no_difference(days):
    stops = [Stretch(local(5, a), local(5, b), f"{a}") for a, b in days]
    assert year(*stops).by_cause == {"1": 8 * DAY, "4": 3 * DAY, "20": DAY}
