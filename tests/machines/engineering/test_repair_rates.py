"""How often incidents come."""

import math

import numpy as np
import pytest
from scipy.stats import chi2

from machines.engineering.repair_rates import grouped_power_law, mtbf, power_law

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


def test_the_exponents_interval_is_exact():
    # Given r incidents, 2·b·Σln(T/tᵢ) is chi-square with 2r degrees.
    fit = power_law(QUICKENING, 1500, confidence=0.9)
    score = 2 * np.log(1500 / np.array(QUICKENING)).sum()
    assert chi2.cdf(fit.exponent_low * score, 14) == pytest.approx(0.05)
    assert chi2.cdf(fit.exponent_high * score, 14) == pytest.approx(0.95)


def test_groups_as_fine_as_the_incidents_give_the_plain_estimate():
    ends = np.arange(0.5, 1500.5, 0.5)
    counts = np.histogram(QUICKENING, bins=[0, *ends])[0]
    plain = power_law(QUICKENING, 1500).exponent * 7 / 6
    assert grouped_power_law(ends, counts).exponent == pytest.approx(plain, rel=2e-3)


def test_incidents_in_two_bunches_follow_no_power_law():
    bunches = [400 + i for i in range(8)] + [1000 + i for i in range(8)]
    assert not power_law(bunches, 1500).fits
    assert power_law(QUICKENING, 1500).fits
    assert "follow no power law" in power_law(bunches, 1500).sentence


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
        (lambda: grouped_power_law([20, 10], [1, 2]), "ends of the groups must rise"),
        (lambda: grouped_power_law([10, 20], [1, 0]), "At least 2 incidents are needed, not 1"),
        (lambda: grouped_power_law([10, 20], [0, 3]), "in one group at an end"),
        (lambda: grouped_power_law([10, 20], [1, 0.5]), "must be a whole number"),
        (lambda: grouped_power_law([10], [3]), "Two groups or more are needed"),
    ],
)
def test_records_that_tell_no_rate_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
