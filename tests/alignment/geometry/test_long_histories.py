"""Histories of many visits, whose intervals share measurements where nothing was adjusted."""

import numpy as np
import pytest

from alignment.geometry.drift import steps
from alignment.geometry.drift.change import CHARTED, has_grown, surprises
from alignment.geometry.drift.fit import WalkPrior, fit_drift
from alignment.geometry.drift.intervals import make_intervals

U_UM, WALK_UM2 = 0.5, 0.3


def never_adjusted(count, *, but=(), parts=1, rate_um=2.0, seed=0, incident=None):
    """One series of ``count`` intervals, each from the measurement that ended the one before,
    ``but`` those before which something was adjusted."""
    rng = np.random.default_rng(seed)
    elapsed = rng.uniform(0.3, 1.7, (1, count))
    error = U_UM * rng.normal(size=(1, count + 1, parts))
    walked = np.sqrt(WALK_UM2 * elapsed)[..., None] * rng.normal(size=(1, count, parts))
    change = rate_um * elapsed[..., None] + walked + np.diff(error, axis=1)
    shares = (np.arange(count)[None] > 0) & ~np.isin(np.arange(count), but)
    knocked = np.zeros((1, count), bool) if incident is None else np.arange(count)[None] == incident
    return make_intervals(elapsed, change, U_UM**2, U_UM**2, knocked, shares)


def covariance(intervals):
    """Of what each interval moved beyond the rate: walk, and errors shared with its neighbours."""
    count = intervals.elapsed.shape[1]
    shared = np.eye(count, k=1) + np.eye(count, k=-1)
    return np.diag(WALK_UM2 * intervals.elapsed[0] + 2 * U_UM**2) - U_UM**2 * shared


@pytest.mark.parametrize("count", [2, 7, 60, 400])
def test_a_rate_is_the_generalised_least_squares_rate_however_long_the_history(count):
    intervals = never_adjusted(count)
    weight = np.linalg.solve(covariance(intervals), intervals.elapsed[0])
    information = weight @ intervals.elapsed[0]
    fit = fit_drift(intervals, WalkPrior(WALK_UM2))
    assert fit.rate_um[0, 0] == pytest.approx(weight @ intervals.change_um[0, :, 0] / information)
    assert fit.rate_cov_um2[0, 0, 0] == pytest.approx(1 / information)


def test_each_adjustment_starts_a_history_of_its_own_but_the_rate_is_of_them_all():
    adjusted = (7, 8, 30)
    intervals = never_adjusted(60, but=adjusted)
    whole = covariance(intervals)
    for place in adjusted:
        whole[place, place - 1] = whole[place - 1, place] = 0
    weight = np.linalg.solve(whole, intervals.elapsed[0])
    expected = weight @ intervals.change_um[0, :, 0] / (weight @ intervals.elapsed[0])
    assert fit_drift(intervals, WalkPrior(WALK_UM2)).rate_um[0, 0] == pytest.approx(expected)


@pytest.mark.parametrize("parts", [1, 2])
def test_a_step_leans_on_its_neighbours_as_much_as_on_the_whole_history(monkeypatch, parts):
    intervals = never_adjusted(150, parts=parts, incident=70)
    near = fit_drift(intervals)
    monkeypatch.setattr(steps, "_REACH", 1000)
    whole = fit_drift(intervals)
    width = whole.step_high_um[0, 70] - whole.step_low_um[0, 70]
    assert near.step_um[0, 70] == pytest.approx(whole.step_um[0, 70], abs=0.01 * width.min())
    assert near.step_high_um[0, 70] - near.step_low_um[0, 70] == pytest.approx(width, rel=0.02)


def test_the_newest_surprises_are_those_of_the_whole_chart():
    intervals = never_adjusted(12, parts=2)
    whole, newest = surprises(intervals), surprises(intervals, newest=4)
    assert np.isnan(newest[:, :8]).all()
    np.testing.assert_allclose(newest[:, 8:], whole[:, 8:])


def test_a_drift_that_grew_lately_is_noticed_after_a_thousand_visits():
    intervals = never_adjusted(1000)
    assert not has_grown(intervals)[0]
    intervals.change_um[0, -20:] += 2.0 * intervals.elapsed[0, -20:, None]
    assert has_grown(intervals)[0]


def test_a_drift_that_grew_long_ago_is_the_drift_there_is():
    intervals = never_adjusted(1000)
    intervals.change_um[0, : -4 * CHARTED] -= 2.0 * intervals.elapsed[0, : -4 * CHARTED, None]
    assert not has_grown(intervals)[0]
