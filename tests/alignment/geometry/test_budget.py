"""Uncertainty budgets: rows, shares, degrees of freedom and the factor."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.budget import (
    Component,
    combine,
    effective_dof,
    rectangular,
    resolution_uncertainty,
    stated_reading_uncertainty,
    sweep_components,
)
from alignment.geometry.sweep import fit_sweep, predicted_readings

FOUR = [0, 90, 180, 270]
EIGHT = range(0, 360, 45)


def _fit(right=0.0, up=20.0, angles=FOUR, form=0.0):
    theta = np.radians(list(angles))
    readings = predicted_readings(right, up, angles, "bore", None) + form * np.cos(2 * theta)
    return fit_sweep(angles, readings)


def _row(name, fit, **known):
    return next(row for row in sweep_components(fit, **known) if row.name == name)


def test_parts_add_in_squares_and_the_shares_add_up():
    budget = combine([Component("a", 3.0), Component("b", 2.0, sensitivity=-2.0)])
    assert budget.u == pytest.approx(5)
    assert budget.shares == pytest.approx((9 / 25, 16 / 25))
    assert (budget.k, budget.expanded) == pytest.approx((2.0, 10.0), abs=5e-3)


def test_a_part_of_few_degrees_alone_gives_its_own_degrees():
    assert combine([Component("a", 3.0, 4)]).dof == pytest.approx(4)


def test_an_unknown_part_leaves_everything_unknown():
    budget = combine([Component("a", 3.0), Component("b", math.inf, 0.0)])
    assert (budget.u, budget.k, budget.expanded, budget.dof) == (math.inf, math.inf, math.inf, 0)
    assert budget.shares == (0, 0)


def test_parts_of_nothing_combine_to_nothing():
    budget = combine([Component("a", 0.0, 3)])
    assert (budget.u, budget.expanded, budget.shares) == (0, 0, (0,))


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        ([], "at least one part"),
        ([Component("dial", -1.0)], "dial: an uncertainty"),
        ([Component("dial", math.nan)], "dial: an uncertainty"),
        ([Component("dial", 1.0, -2)], "dial: degrees of freedom"),
        ([Component("dial", 1.0, sensitivity=math.inf)], "dial: the sensitivity"),
    ],
)
def test_a_part_that_makes_no_sense_is_named(rows, reason):
    with pytest.raises(ValueError, match=reason):
        combine(rows)


def test_anywhere_within_plus_or_minus_three_is_root_three():
    assert rectangular(3) == pytest.approx(math.sqrt(3))
    assert resolution_uncertainty(6) == pytest.approx(math.sqrt(3))


def test_a_reading_takes_error_step_and_repeatability_together():
    assert stated_reading_uncertainty(3, 6, 1) == pytest.approx(math.sqrt(7))


def test_reading_errors_shrink_with_the_number_of_readings():
    few, many = (
        _row("resolution", _fit(angles=a), resolution_um=1).contribution for a in (FOUR, EIGHT)
    )
    assert few == pytest.approx(math.sqrt(2 / 4) / math.sqrt(12))
    assert many == pytest.approx(math.sqrt(2 / 8) / math.sqrt(12))


def test_the_indicators_own_error_does_not_shrink_below_two_readings():
    few, many = (
        _row("indicator's stated error", _fit(angles=a), indicator_error_um=3).contribution
        for a in (FOUR, EIGHT)
    )
    assert few == many == pytest.approx(math.sqrt(3 / 2))


def test_half_of_the_sag_checks_uncertainty_reaches_the_offset():
    assert _row("sag correction", _fit(), sag_u_um=3).contribution == pytest.approx(1.5)


def test_a_lever_angle_off_by_five_degrees_counts_by_the_tangent():
    row = _row("lever angle", _fit(up=100), lever_deg=30, lever_error_deg=5)
    expected = 100 * math.tan(math.radians(30)) * math.radians(5) / math.sqrt(3)
    assert row.contribution == pytest.approx(expected, rel=0.01)


def test_a_lever_angle_about_nought_counts_by_the_second_order():
    """What the cosine takes off: E (δ²/2)² = a⁴/20 for δ anywhere within ± a (integrated by hand;
    the case is JCGM 100's F.2.4.4, from memory)."""
    row = _row("lever angle", _fit(up=100), lever_deg=0, lever_error_deg=15)
    assert row.contribution == pytest.approx(100 * math.radians(15) ** 2 / math.sqrt(20))


def test_a_temperature_difference_counts_over_the_length():
    # 300 mm of steel grow 17.25 µm over 5 K at 11.5e-6 per kelvin.
    row = _row("temperature", _fit(), temperature_difference_k=-5, length_mm=300)
    assert row.contribution == pytest.approx(17.25 / math.sqrt(3))


def test_repeats_count_by_their_scatter_with_two_degrees_for_each_further_sweep():
    row = _row("repeatability", _fit(), repeats_um=[[1, 0], [-1, 0], [0, 0]])
    assert (row.u, row.dof) == pytest.approx((math.sqrt(2 / 4), 4))


def test_what_the_fit_leaves_over_counts_with_its_spare_readings():
    row = _row("fit residual", _fit(form=2.0, angles=EIGHT))
    assert row.u == pytest.approx(2 * math.sqrt(4 / 5))
    assert row.dof == 5
    assert row.contribution == pytest.approx(row.u * math.sqrt(2 / 8))


def test_rows_that_add_nothing_are_left_out():
    names = [row.name for row in sweep_components(_fit(form=1.0), resolution_um=1)]
    assert names == ["resolution", "fit residual"]


@pytest.mark.parametrize("angles", [[0, 120, 240], FOUR])
def test_readings_of_which_nothing_is_known_prove_nothing(angles):
    fit = fit_sweep(angles, np.zeros(len(angles)))
    assert combine(sweep_components(fit, sag_u_um=1)).expanded == math.inf


def test_an_offset_of_zero_takes_the_worst_direction():
    fit = fit_sweep([0, 180, 30], [0, 0, 0])
    worst = math.sqrt(
        np.linalg.eigvalsh(fit_sweep([0, 180, 30], [0, 0, 0], reading_u_um=1).covariance_um2)[-1]
    )
    assert _row("resolution", fit, resolution_um=math.sqrt(12)).sensitivity == pytest.approx(worst)


@given(st.lists(st.tuples(st.floats(0.01, 100), st.integers(1, 50)), min_size=1, max_size=6))
@settings(max_examples=60, deadline=None)
def test_effective_degrees_lie_between_the_fewest_and_the_sum(parts):
    rows = [Component(str(i), u, dof) for i, (u, dof) in enumerate(parts)]
    degrees = [dof for _, dof in parts]
    assert min(degrees) * (1 - 1e-9) <= effective_dof(rows) <= sum(degrees) * (1 + 1e-9)


@given(st.lists(st.floats(0.01, 100), min_size=1, max_size=6), st.sampled_from([1e-3, 25.4]))
@settings(max_examples=60, deadline=None)
def test_a_budget_in_another_unit_is_the_same_budget(parts, factor):
    one, other = (
        combine([Component(str(i), u * scale, 3 + i) for i, u in enumerate(parts)])
        for scale in (1.0, factor)
    )
    assert other.expanded == pytest.approx(one.expanded * factor)
    assert other.shares == pytest.approx(one.shares)
