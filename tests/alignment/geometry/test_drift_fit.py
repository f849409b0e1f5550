"""Rates, steps and walk of single series and of many, held against dense linear algebra."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from alignment.geometry.drift.fit import WalkPrior, fit_drift
from alignment.geometry.drift.intervals import make_intervals
from alignment.geometry.gls import least_squares


def random_intervals(seed, *, series=7, n=6, parts=2, full=False, share=False, incidents=True):
    """Uneven intervals of machines that wear at about 3 µm a year."""
    rng = np.random.default_rng(seed)
    elapsed = rng.uniform(0.2, 2.0, (series, n))
    change = 3 * elapsed[..., None] + rng.normal(size=(series, n, parts))
    roots = rng.normal(size=(2, series, n, parts, parts))
    start, end = roots @ np.swapaxes(roots, -1, -2) + 0.2 * np.eye(parts)
    if not full:
        start, end = start[..., 0, 0], end[..., 0, 0]
    shares = rng.random((series, n)) < 0.5 if share else np.zeros((series, n), bool)
    shares[:, 0] = False
    for i in range(1, n):  # a shared measurement has one covariance
        start[:, i][shares[:, i]] = end[:, i - 1][shares[:, i]]
    incident = np.zeros((series, n), bool)
    incident[:, 2] = incidents
    return make_intervals(elapsed, change, start, end, incident, shares)


def dense_fit(intervals, series, walk):
    """Rate, its covariance and the step of interval 2, by whitening one series with NumPy."""
    n, c = intervals.change_um.shape[1:]
    elapsed = intervals.elapsed[series]
    covariance = np.zeros((n, c, n, c))
    for i in range(n):
        start, end = (
            m[series, i] * np.eye(c) if m.ndim == 2 else m[series, i]
            for m in (intervals.start_cov_um2, intervals.end_cov_um2)
        )
        covariance[i, :, i, :] = start + end + walk * elapsed[i] * np.eye(c)
        if intervals.shares_start[series, i]:
            covariance[i, :, i - 1, :] = covariance[i - 1, :, i, :] = -start
    root = np.linalg.cholesky(covariance.reshape(n * c, n * c))
    design = np.zeros((n, c, 2 * c))
    design[:, :, :c] = elapsed[:, None, None] * np.eye(c)
    design[2, :, c:] = np.eye(c)
    white = np.linalg.solve(root, design.reshape(n * c, 2 * c))
    observed = np.linalg.solve(root, intervals.change_um[series].ravel())
    answer, _, _, _ = np.linalg.lstsq(white, observed, rcond=None)
    residual_sum = ((observed - white @ answer) ** 2).sum()
    return answer[:c], np.linalg.inv(white.T @ white)[:c, :c], answer[c:], residual_sum


KINDS = [
    pytest.param({"parts": 1}, id="single figures"),
    pytest.param({"parts": 2}, id="vectors"),
    pytest.param({"parts": 2, "full": True}, id="parts that correlate"),
    pytest.param({"parts": 2, "share": True}, id="nothing adjusted at some visits"),
    pytest.param({"parts": 2, "full": True, "share": True}, id="both"),
]


@pytest.mark.parametrize("seed", range(3))
def test_generalised_least_squares_agrees_with_scipy(seed):
    """Against `scipy.optimize.curve_fit`, which takes a full covariance of the observations."""
    rng = np.random.default_rng(seed)
    design, observed = rng.normal(size=(9, 3)), rng.normal(size=9)
    root = rng.normal(size=(9, 9))
    covariance = root @ root.T + 0.5 * np.eye(9)
    fit = least_squares(design, observed, covariance)
    estimate, unscaled = optimize.curve_fit(
        lambda x, a, b, c: x @ [a, b, c],
        design,
        observed,
        jac=lambda x, *_: x,
        sigma=covariance,
        absolute_sigma=True,
    )
    np.testing.assert_allclose(fit.estimate, estimate, rtol=1e-9)
    np.testing.assert_allclose(fit.unscaled_covariance, unscaled, rtol=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_the_rate_is_that_of_dense_generalised_least_squares(kind):
    intervals = random_intervals(1, **kind)
    fit = fit_drift(intervals, WalkPrior(0.7))
    expected = [dense_fit(intervals, s, 0.7)[0] for s in range(intervals.series)]
    np.testing.assert_allclose(fit.rate_um, expected, rtol=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_the_covariance_of_the_rate_is_that_of_dense_generalised_least_squares(kind):
    intervals = random_intervals(2, **kind)
    fit = fit_drift(intervals, WalkPrior(0.7))
    expected = [dense_fit(intervals, s, 0.7)[1] for s in range(intervals.series)]
    np.testing.assert_allclose(fit.rate_cov_um2, expected, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_the_step_is_that_of_dense_generalised_least_squares(kind):
    intervals = random_intervals(3, **kind)
    fit = fit_drift(intervals, WalkPrior(0.7))
    expected = [dense_fit(intervals, s, 0.7)[2] for s in range(intervals.series)]
    np.testing.assert_allclose(fit.step_um[:, 2], expected, rtol=1e-8, atol=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_at_the_fitted_walk_residuals_are_as_large_as_their_degrees_of_freedom(kind):
    intervals = random_intervals(4, **kind)
    wandering = make_intervals(
        intervals.elapsed,
        intervals.change_um + np.random.default_rng(4).normal(0, 9, intervals.change_um.shape),
        intervals.start_cov_um2,
        intervals.end_cov_um2,
        intervals.incident,
        intervals.shares_start,
    )
    fit = fit_drift(wandering)
    sums = [dense_fit(wandering, s, fit.walk_um2[s])[3] for s in range(wandering.series)]
    np.testing.assert_allclose(sums, fit.dof, rtol=1e-6)


def test_with_equal_intervals_the_interval_is_students_t():
    rng = np.random.default_rng(6)
    change = rng.normal(3, 5, (50, 5))
    fit = fit_drift(make_intervals(np.ones((50, 5)), change, 0.01, 0.01))
    half = stats.t.ppf(0.975, 4) * change.std(axis=1, ddof=1) / np.sqrt(5)
    np.testing.assert_allclose(fit.rate_high_um[:, 0], change.mean(axis=1) + half, rtol=5e-3)


def test_a_walk_known_for_certain_gives_the_normal_interval():
    fit = fit_drift(make_intervals([[2.0]], [[6.0]], 1.0, 1.0), WalkPrior(3.0))
    half = stats.norm.ppf(0.975) * np.sqrt(2 + 3 * 2) / 2
    assert (fit.rate_low_um[0, 0], fit.rate_high_um[0, 0]) == pytest.approx((3 - half, 3 + half))


def test_a_knock_does_not_count_as_wear():
    change = [[3.0, 3.1, 43.0, 2.9, 3.0]]
    incident = [[False, False, True, False, False]]
    fit = fit_drift(make_intervals(np.ones((1, 5)), change, 0.01, 0.01, incident))
    assert fit.rate_um[0, 0] == pytest.approx(3.0, abs=0.01)


def test_the_step_is_what_the_knock_added_to_wear():
    change = [[3.0, 3.1, 43.0, 2.9, 3.0]]
    incident = [[False, False, True, False, False]]
    fit = fit_drift(make_intervals(np.ones((1, 5)), change, 0.01, 0.01, incident))
    assert fit.step_um[0, 2, 0] == pytest.approx(40.0, abs=0.01)


def test_vectors_drift_as_vectors_not_as_sizes():
    """It went out to the right and came back: no drift, though it moved every time."""
    change = [[[5.0, 0.0], [-5.0, 0.0], [5.0, 0.0], [-5.0, 0.0]]]
    fit = fit_drift(make_intervals(np.ones((1, 4)), change, 0.5, 0.5))
    np.testing.assert_allclose(fit.rate_um[0], [0, 0], atol=1e-12)


def test_scatter_beyond_the_stated_uncertainty_shows_in_the_residual_scale():
    change = [[2.0, 14.0, -10.0, 6.0]]
    fit = fit_drift(make_intervals(np.ones((1, 4)), change, 0.5, 0.5))
    assert fit.residual_scale[0] == pytest.approx(np.std(change, ddof=1))


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), inch=st.sampled_from([25.4, 1 / 25.4]))
def test_the_fit_does_not_depend_on_the_unit(seed, inch):
    one = random_intervals(seed)
    other = make_intervals(
        one.elapsed,
        one.change_um * inch,
        one.start_cov_um2 * inch**2,
        one.end_cov_um2 * inch**2,
        one.incident,
    )
    a, b = fit_drift(one), fit_drift(other)
    np.testing.assert_allclose(a.rate_high_um * inch, b.rate_high_um, rtol=1e-4)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), turn=st.floats(0, 2 * np.pi))
def test_turning_the_view_turns_the_rate_with_it(seed, turn):
    one = random_intervals(seed)
    view = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    turned = make_intervals(
        one.elapsed, one.change_um @ view.T, one.start_cov_um2, one.end_cov_um2, one.incident
    )
    np.testing.assert_allclose(
        fit_drift(one).rate_um @ view.T, fit_drift(turned).rate_um, rtol=1e-6, atol=1e-7
    )


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), share=st.booleans())
def test_padding_a_series_changes_nothing(seed, share):
    one = random_intervals(seed, share=share)
    wide = [np.pad(a, ((0, 0), (0, 3))) for a in (one.elapsed, one.start_cov_um2)]
    padded = make_intervals(
        wide[0],
        np.pad(one.change_um, ((0, 0), (0, 3), (0, 0))),
        wide[1],
        np.pad(one.end_cov_um2, ((0, 0), (0, 3))),
        np.pad(one.incident, ((0, 0), (0, 3))),
        np.pad(one.shares_start, ((0, 0), (0, 3))),
        np.pad(one.present, ((0, 0), (0, 3))),
    )
    a, b = fit_drift(one), fit_drift(padded)
    np.testing.assert_allclose(a.rate_low_um, b.rate_low_um, rtol=1e-5, atol=1e-6)


def test_many_series_at_once_give_what_each_gives_alone():
    many = random_intervals(9, series=5, share=True)
    alone = [
        fit_drift(
            make_intervals(
                many.elapsed[s : s + 1],
                many.change_um[s : s + 1],
                many.start_cov_um2[s : s + 1],
                many.end_cov_um2[s : s + 1],
                many.incident[s : s + 1],
                many.shares_start[s : s + 1],
            )
        ).rate_high_um[0]
        for s in range(5)
    ]
    np.testing.assert_allclose(fit_drift(many).rate_high_um, alone, rtol=1e-4)
