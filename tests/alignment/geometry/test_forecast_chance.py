"""The chance of lying outside a circle or between limits, against outside figures."""

import numpy as np
import pytest
from scipy import stats

from alignment.geometry.drift.outside import outside_circle, outside_limits
from alignment.geometry.drift.tolerance import Circle, Limits

PLACES = np.array([[0.0, 0.0], [3.0, 4.0], [9.0, 0.0], [0.0, -10.0], [12.0, 9.0], [30.0, 0.0]])


@pytest.mark.parametrize("deviation", [0.05, 0.5, 1.0, 2.0, 4.0, 20.0])
def test_with_equal_parts_it_is_the_noncentral_chi_squared_probability(deviation):
    variance = np.full(len(PLACES), deviation**2)
    off = (PLACES**2).sum(axis=1) / deviation**2
    expected = stats.ncx2.sf(100 / deviation**2, 2, np.maximum(off, 1e-12))
    np.testing.assert_allclose(outside_circle(PLACES, variance, 10.0), expected, atol=1e-4)


@pytest.mark.parametrize("deviation", [0.5, 2.0, 20.0])
def test_a_covariance_that_is_round_gives_the_same_by_integration(deviation):
    variance = np.full(len(PLACES), deviation**2)
    matrix = variance[:, None, None] * np.eye(2)
    np.testing.assert_allclose(
        outside_circle(PLACES, matrix, 10.0), outside_circle(PLACES, variance, 10.0), atol=1e-4
    )


def test_a_long_narrow_covariance_agrees_with_a_million_draws():
    mean, cov = np.array([4.0, -5.0]), np.array([[9.0, 5.0], [5.0, 4.0]])
    draws = np.random.default_rng(1).multivariate_normal(mean, cov, 1_000_000)
    share = (np.hypot(*draws.T) > 10).mean()
    assert outside_circle(mean[None], cov[None], 10.0)[0] == pytest.approx(share, abs=2e-3)


def test_a_place_known_exactly_is_in_or_out_and_even_on_the_edge():
    chance = outside_circle(PLACES, np.zeros(len(PLACES)), 10.0)
    np.testing.assert_allclose(chance, [0, 0, 0, 0.5, 1, 1], atol=1e-9)


@pytest.mark.parametrize(
    ("figure", "u", "lower", "upper", "conforms"),
    [
        # JCGM 106:2012, 7.4: inputs as quoted, the answer worked out with the normal integral.
        (13.6, 1.8, 12.5, 16.3, 0.66263),
        # JCGM 106:2012, Zener diode, one limit; from memory.
        (-5.47, 0.05, -np.inf, -5.40, 0.9192),
    ],
)
def test_between_limits_it_is_one_less_the_conformance_probability(
    figure, u, lower, upper, conforms
):
    chance = outside_limits(np.array([figure]), np.array([u**2]), lower, upper)
    assert chance[0] == pytest.approx(1 - conforms, abs=5e-5)


@pytest.mark.parametrize("radius", [0.0, -1.0])
def test_a_circle_without_a_radius_is_refused(radius):
    with pytest.raises(ValueError, match="more than zero"):
        Circle(radius)


@pytest.mark.parametrize("limits", [(5, 5), (5, 4), (-np.inf, np.inf)])
def test_limits_that_limit_nothing_are_refused(limits):
    with pytest.raises(ValueError, match="a lower limit below the upper one"):
        Limits(*limits)


def test_one_limit_and_its_mirror_image_give_the_same():
    mean, variance = np.array([[3.0]]), np.array([4.0])
    above = Limits(-np.inf, 10.0).chance_outside(mean, variance)
    below = Limits(-10.0, np.inf).chance_outside(-mean, variance)
    np.testing.assert_allclose(above, below)
