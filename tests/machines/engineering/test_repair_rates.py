"""How often incidents come, and whether they come more often."""

import math
from itertools import permutations

import numpy as np
import pytest

from machines.engineering.repair_rates import (
    handbook_trend,
    mtbf,
    power_law,
    reverse_arrangements,
)

SLOWING = [5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478]
QUICKENING = [600, 1000, 1250, 1350, 1420, 1460, 1490]


def test_no_failure_yet_gives_only_a_lower_bound():
    quiet = mtbf(800, 0)
    assert quiet.mtbf_h is None
    assert quiet.high_h == math.inf
    # Chance of no failure at the bound is what was left over: exp(−800/low) = 0.1.
    assert math.exp(-800 / quiet.low_h) == pytest.approx(0.10)
    assert quiet.sentence == "No failure in 800 h: at least 347 h (90 %)."


def test_one_failure_gives_a_very_wide_interval_and_says_so():
    one = mtbf(800, 1)
    assert one.sentence == ("One failure in 800 h (90 % interval 169 to 15,597 h; 1 in 800 h).")
    assert one.high_h / one.low_h > 50


def test_nine_in_ten_mtbf_intervals_cover_the_true_mtbf():
    counts = np.random.default_rng(3).poisson(8000 / 1000, 2000)
    bounds = {n: mtbf(8000, int(n)) for n in set(counts.tolist())}
    covered = np.mean([bounds[n].low_h <= 1000 <= bounds[n].high_h for n in counts.tolist()])
    assert covered >= 0.89


@pytest.mark.parametrize(
    ("incidents", "observed", "trend"),
    [(SLOWING, 1500, "rarer"), (QUICKENING, 1500, "more often"), ([400, 800], 1200, None)],
)
def test_the_trend_is_named_only_when_it_is_clear(incidents, observed, trend):
    assert handbook_trend(incidents, observed).trend == (trend or "no clear trend")


def test_incidents_that_come_more_often_have_an_exponent_over_one():
    assert power_law(QUICKENING, 1500).exponent > 1
    assert power_law(SLOWING, 1500).exponent < 1


def test_the_process_expects_what_was_counted():
    fit = power_law(QUICKENING, 1500)
    assert fit.factor * 1500**fit.exponent == pytest.approx(len(QUICKENING))


def test_the_modified_exponent_is_unbiased_in_simulation():
    # Given r incidents, a power-law process puts them at T·U^(1/b).
    exponent, r, runs = 1.5, 6, 2000
    u = np.random.default_rng(11).random((runs, r))
    found = [power_law(1000 * row ** (1 / exponent), 1000).exponent for row in u]
    assert np.mean(found) == pytest.approx(exponent, rel=0.05)


def test_too_few_incidents_for_the_confidence_leave_the_upper_side_open():
    assert power_law([400, 900], 1500, confidence=0.99).high_h == math.inf


def test_reverse_arrangements_agree_with_trying_every_order():
    gaps = [5, 35, 3, 132, 214, 36]
    found = reverse_arrangements(np.cumsum(gaps))

    def count(order):
        return sum(later > earlier for i, earlier in enumerate(order) for later in order[i:])

    orders = [count(order) for order in permutations(gaps)]
    assert found.statistic == count(gaps)
    assert found.p_rarer == pytest.approx(np.mean([c >= found.statistic for c in orders]))
    assert found.p_more_often == pytest.approx(np.mean([c <= found.statistic for c in orders]))


def test_the_normal_approximation_takes_over_smoothly():
    gaps = np.random.default_rng(5).exponential(100, 51)
    exact = reverse_arrangements(np.cumsum(gaps[:50]))
    approximate = reverse_arrangements(np.cumsum(gaps))
    assert approximate.p_rarer == pytest.approx(exact.p_rarer, abs=0.1)
    assert approximate.p_rarer + approximate.p_more_often == pytest.approx(1, abs=0.02)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: mtbf(0, 2), "running time must be more than zero"),
        (lambda: mtbf(800, -1), "number of failures must be at least 0"),
        (lambda: mtbf(800, 2, confidence=1.2), "confidence must lie between 0 and 1"),
        (lambda: power_law([400], 1500), "At least 2 incidents are needed, not 1"),
        (lambda: power_law([400, 1600], 1500), "incident at 1600 h lies after the end"),
        (lambda: power_law([0, 400], 1500), "hours of an incident must be more than zero"),
        (lambda: power_law([1500, 1500], 1500), "no rate can be told"),
        (lambda: handbook_trend([], 1500), "At least 1 incident is needed, not 0"),
        (lambda: reverse_arrangements([10, 20]), "at least three incidents"),
    ],
)
def test_records_that_tell_no_rate_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
