"""Borrowing from machines of the same model and station, and saying how much."""

import numpy as np
import pytest

from alignment.geometry.drift.fit import fit_drift, rate_interval
from alignment.geometry.drift.forecast import forecast
from alignment.geometry.drift.intervals import make_intervals
from alignment.geometry.drift.pooling import lend
from alignment.geometry.drift.prediction import Start
from alignment.geometry.drift.tolerance import Circle
from tests.alignment.geometry.fleets import borrow, covered


def models(count, machines, n, *, between=1.0, seed=0, parts=2):
    """``count`` models of ``machines`` each; rates 3 µm a year, give or take ``between``."""
    rng = np.random.default_rng(seed)
    series = count * machines
    elapsed = rng.uniform(0.3, 1.7, (series, n))
    rate = 3 + between * rng.normal(size=(series, parts))
    change = rate[:, None] * elapsed[..., None] + rng.normal(0, np.sqrt(2), (series, n, parts))
    change += np.sqrt(2 * elapsed)[..., None] * rng.normal(size=change.shape)
    intervals = make_intervals(elapsed, change, 1.0, 1.0)
    return intervals, rate, np.repeat(np.arange(count), machines)


def only(intervals, series, places):
    """Leave ``series`` only the intervals at ``places``."""
    keep = np.ones(intervals.elapsed.shape, bool)
    keep[series] = False
    keep[series, places] = True
    return intervals.select(keep)


@pytest.mark.parametrize("visits", [3, 5, 12])
def test_borrowed_rates_are_nearer_the_truth_than_own_rates(visits):
    intervals, rate, groups = models(40, 8, visits - 1)
    rates = borrow(intervals, groups).rate_um, fit_drift(intervals).rate_um
    off = [np.sqrt(np.mean((r - rate) ** 2)) for r in rates]
    assert off[0] < 0.97 * off[1]


@pytest.mark.parametrize("machines", [3, 8], ids=["three of a model", "eight of a model"])
@pytest.mark.parametrize("visits", [3, 5, 12])
def test_the_interval_of_a_borrowed_rate_holds_the_truth(visits, machines):
    intervals, rate, groups = models(480 // machines, machines, visits - 1)
    low, high = rate_interval(borrow(intervals, groups).belief)
    # Two others know little of how far machines wander, and lend on the safe side.
    assert 0.92 <= covered(low, rate, high) <= (0.98 if machines > 3 else 0.999)


def test_a_machine_seen_once_borrows_everything():
    intervals, _, groups = models(1, 10, 6)
    borrowed = borrow(only(intervals, 0, []), groups)
    assert borrowed.share[0] == 1.0
    assert borrowed.rate_um[0] == pytest.approx([3, 3], abs=1.5)


def test_a_machine_seen_once_has_a_forecast_from_its_like():
    intervals, _, groups = models(1, 10, 6)
    belief = borrow(only(intervals, 0, []), groups).belief
    seen = forecast(belief, Start(np.zeros((10, 2)), 1.0), Circle(15.0), horizon=20.0)
    assert 0.3 < seen.date[0] < 5


def test_the_more_visits_of_its_own_the_less_it_borrows():
    intervals, _, groups = models(1, 10, 8)
    shares = [borrow(only(intervals, 0, range(n)), groups).share[0] for n in (0, 2, 8)]
    assert shares == sorted(shares, reverse=True)


def test_machines_that_are_alike_lend_more_than_machines_that_differ():
    shares = [
        borrow(*models(20, 8, 4, between=spread)[::2]).share.mean() for spread in (0.1, 1.0, 10.0)
    ]
    assert shares == sorted(shares, reverse=True)


def test_a_machine_is_not_its_own_example():
    """What the others lend to a machine does not change with its own readings."""
    intervals, _, groups = models(1, 6, 5)
    before = borrow(only(intervals, 0, []), groups).rate_um[0]
    intervals.change_um[0] += 500
    after = borrow(only(intervals, 0, []), groups).rate_um[0]
    np.testing.assert_array_equal(before, after)


def odd_one(moves=4, seed=3):
    """Eleven machines that wear 3 µm a year and one, the first, that wears 12."""
    rng = np.random.default_rng(seed)
    rate = np.where(np.arange(12)[:, None] == 0, 12.0, 3.0)
    noise = rng.normal(0, 1, (12, moves, 1))
    return make_intervals(np.ones((12, moves)), rate[:, None] + noise, 0.5, 0.5), np.zeros(12)


def test_a_machine_unlike_the_others_keeps_its_own_rate_and_says_so():
    intervals, groups = odd_one()
    borrowed = borrow(intervals, groups)
    assert list(np.flatnonzero(borrowed.apart)) == [0]
    assert borrowed.rate_um[0] == pytest.approx(intervals.change_um[0].mean(axis=0))
    assert "unlike the 11 other machines" in borrowed.note(0)


def test_eight_moves_of_eleven_are_told_as_eleven():
    """Yearly moves of 10.7 to 12.3 µm: the rate shown is no less than the least of them."""
    intervals, groups = odd_one(8)
    intervals.change_um[0, :, 0] = [10.7, 11.2, 12.3, 11.5, 11.0, 11.9, 12.1, 11.4]
    assert borrow(intervals, groups).rate_um[0, 0] >= 10.7


def test_a_machine_seen_once_says_that_its_day_is_borrowed_and_how_that_goes():
    intervals, groups = odd_one()
    note = borrow(only(intervals, 0, []), groups).note(0)
    assert "borrowed from 11 other machines" in note
    assert "up to two in three" in note


def test_other_models_lend_nothing():
    intervals, _, groups = models(2, 6, 5)
    before = borrow(intervals, groups).rate_um[:6]
    intervals.change_um[6:] += 500
    np.testing.assert_allclose(borrow(intervals, groups).rate_um[:6], before)


def test_the_note_says_how_much_was_borrowed_and_from_how_many():
    intervals, _, groups = models(1, 6, 2)
    borrowed = borrow(intervals, groups)
    said = f"{100 * borrowed.share[0]:.0f} % of the rate comes from 5 other machines"
    assert said in borrowed.note(0)


def test_with_nobody_to_borrow_from_it_says_so():
    intervals, _, _ = models(1, 1, 4)
    assert "no other machines like it to borrow from" in borrow(intervals, [0]).note(0)


def test_with_no_visits_and_nobody_to_borrow_from_nothing_is_invented():
    intervals, _, _ = models(1, 2, 4)
    borrowed = borrow(only(intervals, 0, []), [0, 0])
    assert not borrowed.belief.known[0]
    assert "No forecast" in borrowed.note(0)


def test_each_series_needs_a_group():
    intervals, _, _ = models(1, 3, 2)
    with pytest.raises(ValueError, match="one group for each of the 3 series"):
        borrow(intervals, [0, 0])


def test_what_does_not_lend_tells_the_others_nothing():
    intervals, _, groups = models(1, 8, 4)
    lends = np.arange(8) < 5
    before = lend(intervals, groups, lends, np.array([0, 7])).to(intervals.take([0, 7]))
    intervals.change_um[5:7] += 50
    after = lend(intervals, groups, lends, np.array([0, 7])).to(intervals.take([0, 7]))
    np.testing.assert_allclose(after.rate_um, before.rate_um)
    assert list(after.others) == [4, 5]


def test_forty_others_tell_nearly_as_much_as_four_times_as_many_and_five_do_not():
    """Of a machine seen once, how wide the interval of its rate is in the middle of many cases."""

    def width(others, cases=60):
        intervals, _, groups = models(cases, others + 1, 3)
        first = np.arange(0, len(groups), others + 1)
        seen = intervals.select(~np.isin(np.arange(len(groups)), first)[:, None])
        lent = lend(seen, groups, np.ones(len(groups), bool), first)
        low, high = rate_interval(lent.belief_of(seen.take(first)))
        return np.median(high - low)

    most = width(160)
    assert width(40) < 1.05 * most
    assert width(5) > 1.25 * most
