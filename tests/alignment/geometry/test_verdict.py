"""Within, outside or not proven, and how probable within is."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.measure.verdict import Verdict, coverage_factor, decide, probability_within

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
