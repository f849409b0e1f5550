"""Uncertainty budgets: rows, shares, degrees of freedom and the factor."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.measure.budget import (
    Component,
    combine,
    effective_dof,
    lever_row,
    rectangular,
    resolution_uncertainty,
    stated_reading_uncertainty,
)


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


def test_a_lever_angle_off_by_five_degrees_counts_by_the_tangent():
    row = lever_row(100, 30, 5)
    expected = 100 * math.tan(math.radians(30)) * math.radians(5) / math.sqrt(3)
    assert row.contribution == pytest.approx(expected, rel=0.01)


def test_a_lever_angle_about_nought_counts_by_the_second_order():
    """What the cosine takes off: E (δ²/2)² = a⁴/20 for δ anywhere within ± a (integrated by hand;
    the case is JCGM 100's F.2.4.4, from memory)."""
    row = lever_row(100, 0, 15)
    assert row.contribution == pytest.approx(100 * math.radians(15) ** 2 / math.sqrt(20))


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
