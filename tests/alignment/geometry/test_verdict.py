"""Within, outside or not proven, and how probable within is."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from alignment.geometry.measure.verdict import (
    Verdict,
    coverage_factor,
    decide,
    of_all_told,
    points_off,
    probability_within,
)

CASES = [
    # value, u, upper, lower, verdict
    (5, 1, 10, None, "within"),
    (8, 1, 10, None, "within"),
    (8.1, 1, 10, None, "not proven"),
    (12, 1, 10, None, "not proven"),
    (12.1, 1, 10, None, "outside"),
    (0, 1, 10, -10, "within"),
    (-8.1, 1, 10, -10, "not proven"),
    (-12.1, 1, 10, -10, "outside"),
    (3, 1, None, 0, "within"),
    (1, 1, None, 0, "not proven"),
    (-3, 1, None, 0, "outside"),
    (0, 6, 10, -10, "not proven"),
    (10, 0, 10, None, "within"),
    (10.001, 0, 10, None, "outside"),
    (-5, 1, 0, -20, "within"),
]


@pytest.mark.parametrize(("value", "u", "upper", "lower", "word"), CASES)
def test_the_verdict_keeps_clear_of_the_limits_by_the_expanded_uncertainty(
    value, u, upper, lower, word
):
    assert decide(value, u, upper, lower) == word


@pytest.mark.parametrize("u", [None, math.inf, math.nan])
@pytest.mark.parametrize("value", [0, 5, 1e6])
def test_an_unknown_uncertainty_proves_nothing(value, u):
    assert decide(value, u, 10) is Verdict.NOT_PROVEN


def test_an_infinite_coverage_factor_proves_nothing():
    assert decide(0, 0, 10, k=math.inf) is Verdict.NOT_PROVEN


def test_a_larger_coverage_factor_proves_less():
    assert decide(8, 1, 10, k=3) is Verdict.NOT_PROVEN


REFUSED = [
    ((math.nan, 1, 10), {}, "measured figure"),
    ((5, -1, 10), {}, "uncertainty cannot be negative"),
    ((5, 1, 0), {}, "must be above zero"),
    ((5, 1, -10), {}, "must be above zero"),
    ((5, 1, 10, 10), {}, "must be above the lower"),
    ((5, 1, -10, 10), {}, "must be above the lower"),
    ((5, 1, math.nan), {}, "upper limit"),
    ((5, 1, 10), {"k": 0}, "coverage factor"),
]


@pytest.mark.parametrize(("figures", "how", "reason"), REFUSED)
def test_what_allows_no_verdict_is_refused(figures, how, reason):
    with pytest.raises(ValueError, match=reason):
        decide(*figures, **how)


def test_a_figure_that_may_only_be_low_has_an_upper_limit_of_zero():
    assert decide(-5, 1, 0, signed=True) is Verdict.WITHIN


def test_the_word_is_what_is_stored():
    assert [str(verdict) for verdict in Verdict] == [
        "within",
        "outside",
        "not proven",
        "no limit on record",
    ]


@pytest.mark.parametrize(
    ("value", "u", "upper", "lower", "probability"),
    [(10, 1, 10, None, 0.5), (0, 1, None, 0, 0.5), (5, 0, 10, None, 1), (11, 0, 10, None, 0)],
)
def test_half_the_probability_lies_either_side_of_a_lone_limit(value, u, upper, lower, probability):
    assert probability_within(value, u, upper, lower) == pytest.approx(probability)


@pytest.mark.parametrize("u", [None, math.inf])
def test_no_probability_is_claimed_without_an_uncertainty(u):
    assert probability_within(5, u, 10) is None


@pytest.mark.parametrize("dof", [1, 2, 5, 30])
def test_of_all_told_so_likely_as_many_are_within(dof):
    """A limit at zero, figures from anywhere about it, an error of one: by plain integration, of
    those told 10 % and 80 % as many are within, whatever the luck of their scatter."""
    luck = np.sqrt(stats.chi2.ppf((np.arange(4000) + 0.5) / 4000, dof) / dof)
    for told in (0.1, 0.8):
        u, freedom = of_all_told(1.0, dof)
        away = stats.t.ppf(told, freedom) * u * luck  # figures told so, in their own u
        within = np.average(stats.norm.cdf(away), weights=luck)  # met as often as u is wide
        assert within == pytest.approx(told, abs=0.003)


def test_how_far_a_chance_may_be_off_is_told_for_few_degrees_of_freedom():
    assert [points_off(dof) for dof in (1, 2, 9, math.inf)] == [6, 0, 0, 0]
    assert [points_off(dof, 0.4) for dof in (1, 2, 9, 12, math.inf)] == [16, 16, 16, 0, 0]


def test_few_degrees_of_freedom_need_a_large_factor():
    assert coverage_factor(1, 0.95) == pytest.approx(12.706, abs=5e-4)
    assert coverage_factor(0) == math.inf
    assert coverage_factor(math.inf) == pytest.approx(2.0, abs=5e-4)


@pytest.mark.parametrize(("dof", "probability"), [(-1, 0.95), (math.nan, 0.95), (5, 1), (5, 0)])
def test_a_factor_is_not_made_up(dof, probability):
    with pytest.raises(ValueError, match=r"Degrees of freedom|probability"):
        coverage_factor(dof, probability)


figures = st.floats(-100, 100)


@settings(max_examples=80, deadline=None)
@given(figures, st.floats(0, 10), st.floats(1, 100), st.floats(-100, 0))
def test_within_and_outside_are_mirror_images(value, u, upper, lower):
    assert decide(value, u, upper, lower) is decide(-value, u, -lower, -upper)


@settings(max_examples=80, deadline=None)
@given(figures, st.floats(0.01, 10), st.floats(1, 100))
def test_within_means_at_least_977_in_1000(value, u, upper):
    if decide(value, u, upper) is Verdict.WITHIN:
        assert probability_within(value, u, upper) >= 0.977
