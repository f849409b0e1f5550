"""Which due work goes together in one visit."""

from datetime import date, timedelta
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines.engineering.trips import trips

TODAY = date(2026, 3, 2)


def day(ahead):
    return TODAY + timedelta(days=ahead)


def plan(*ahead, early=14):
    return [
        ((trip.on - TODAY).days, list(trip.work))
        for trip in trips([(day(n), n) for n in ahead], TODAY, early)
    ]


def test_what_is_due_within_two_weeks_goes_together():
    assert plan(3, 10, 17, 18) == [(3, [3, 10, 17]), (18, [18])]


def test_what_is_overdue_is_done_today():
    assert plan(-40, -1, 5) == [(0, [-40, -1, 5])]


def test_nothing_early_means_a_visit_for_each_day():
    assert [on for on, _work in plan(1, 1, 2, early=0)] == [1, 2]


def test_nothing_due_needs_no_visit():
    assert plan() == []


def test_doing_work_before_the_day_before_yesterday_is_refused():
    with pytest.raises(ValueError, match="early"):
        trips([(TODAY, "x")], TODAY, -1)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 12), min_size=1, max_size=5), st.integers(0, 6))
def test_no_fewer_visits_would_do(ahead, early):
    """Against every choice of days: none with fewer visits serves all of the work in time."""
    needed = len(trips([(day(n), n) for n in ahead], TODAY, early))
    fewer = product(range(13), repeat=needed - 1)
    assert not any(all(any(n - early <= d <= n for d in days) for n in ahead) for days in fewer)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(-30, 200), max_size=20), st.integers(0, 60))
def test_all_work_is_done_once_in_time_and_not_too_early(ahead, early):
    found = trips([(day(n), i) for i, n in enumerate(ahead)], TODAY, early)
    done = [(trip.on, work) for trip in found for work in trip.work]
    assert sorted(work for _on, work in done) == list(range(len(ahead)))
    for on, work in done:
        due = max(day(ahead[work]), TODAY)
        assert due - timedelta(days=early) <= on <= due
