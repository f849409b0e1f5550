"""Steps at incidents: what an interval moved beyond the wear that the other intervals explain.

Giving each interval with an incident a parameter of its own is the same as leaving it out of the
rate and taking what it moved beyond the prediction from all others. A measurement shared with a
neighbour corrects that prediction, because its error can then be told in part.
"""

from __future__ import annotations

import numpy as np

from .belief import Belief, quantiles_of_cases
from .intervals import Intervals
from .rows import measurement_covariance, neighbours_share

ENDS = (0.025, 0.975)
_BATCH = 2048
_LEAST_UM2 = 1e-12  # keeps the matrix sound where no uncertainty is stated


def fit_steps(intervals: Intervals, best: Belief, belief: Belief):
    """Steps (S, n, c) in µm and both ends of their 95 % intervals; NaN where there is no incident.

    ``best`` holds the best estimates as its only case, ``belief`` the cases behind the interval.
    """
    answer = np.full((3, *intervals.change_um.shape), np.nan)
    at = np.nonzero(intervals.usable & intervals.incident)
    if at[0].size:
        answer[0][at] = step_cases(intervals, at, best)[0][:, 0]
        centre, deviation = step_cases(intervals, at, belief)
        weight = belief.weight[at[0]]
        for end, probability in zip(answer[1:], ENDS, strict=True):
            for part in range(intervals.parts):
                cases = centre[..., part], deviation[..., part]
                end[(*at, part)] = quantiles_of_cases(weight, *cases, probability)
    return tuple(answer)


def step_cases(intervals: Intervals, at, belief: Belief):
    """Step of each of M intervals in each case, and its standard deviation, both (M, K, c) in µm.

    ``at`` is (series, interval), two index arrays as ``np.nonzero`` gives them, in its order, and
    holds every usable interval with an incident.
    """
    shared = neighbours_share(intervals, intervals.usable)
    disturbed = np.zeros(intervals.elapsed.shape, bool)
    disturbed[at] = True
    linked = (shared & (disturbed[:, 1:] | disturbed[:, :-1])).any(axis=1)[at[0]]
    shape = (len(at[0]), belief.weight.shape[1], intervals.parts)
    centre, deviation = np.empty(shape), np.empty(shape)
    for which, moments in ((~linked, _plain), (linked, _with_neighbours)):
        place = np.flatnonzero(which)
        for few in np.split(place, range(_BATCH, len(place), _BATCH)):
            if few.size:
                picked = at[0][few], at[1][few]
                centre[few], deviation[few] = moments(intervals, picked, belief, disturbed)
    return centre, deviation


def _plain(intervals, at, belief, _):
    """Step and its standard deviation in each case, both (M, K, c)."""
    belief, elapsed = belief.take(at[0]), intervals.elapsed[at][:, None, None]
    centre = intervals.change_um[at][:, None] - elapsed * belief.rate_um
    measured = (intervals.start_cov_um2 + intervals.end_cov_um2)[at]
    measured = measured[:, None] if measured.ndim == 1 else _diagonal(measured)
    own = measured[:, None] + belief.walk_um2[..., None] * elapsed
    variance = belief.scale[..., None] * own + elapsed**2 * _diagonal(belief.rate_cov_um2)
    return centre, np.sqrt(variance)


def _with_neighbours(intervals, at, belief, disturbed):
    """The same where neighbours share a measurement."""
    series, row = np.unique(at[0], return_inverse=True)
    here = disturbed[series]
    covariance = measurement_covariance(intervals, intervals.usable, series)
    covariance = covariance + _LEAST_UM2 * np.eye(covariance.shape[-1])
    belief = belief.take(series)
    centre, deviation = [], []
    for case in range(belief.weight.shape[1]):
        step, variance = _case_with_neighbours(intervals, series, here, covariance, belief, case)
        centre.append(step[row, at[1]])
        deviation.append(np.sqrt(variance[row, at[1]]))
    return np.stack(centre, axis=1), np.stack(deviation, axis=1)


def _case_with_neighbours(intervals, series, here, covariance, belief, case):
    """Step and variance (s, n, c) for one case, from the precision of all usable intervals.

    With the precision split into disturbed (J) and other (R) intervals, the errors of J given
    those of R have precision P_JJ and mean -P_JJ⁻¹ P_JR e_R.
    """
    usable, parts = intervals.usable[series], intervals.parts
    elapsed = np.where(usable, intervals.elapsed[series], 0.0)
    width = covariance.shape[-1] // usable.shape[1]
    own_time = np.repeat(elapsed, width, axis=1)
    here = np.repeat(here, width, axis=1)
    walked = covariance + _on_diagonal(np.nan_to_num(belief.walk_um2[:, case, None]) * own_time)
    precision = np.linalg.inv(walked)
    inner = np.where(here[:, :, None] & here[:, None], precision, 0.0) + _on_diagonal(~here)
    inner = np.linalg.inv(inner)
    gain = np.where(here[:, :, None], inner @ np.where(here[:, None], 0.0, precision), 0.0)
    change = np.where(usable[..., None], intervals.change_um[series], 0.0)
    beyond = change - elapsed[..., None] * belief.rate_um[:, None, case]
    beyond = beyond.reshape(len(series), own_time.shape[1], -1)
    reach = (elapsed[..., None, None] * np.eye(width)).reshape(*own_time.shape, width)
    reach = reach + gain @ reach
    cov = belief.rate_cov_um2[:, case, :width, :width]
    variance = belief.scale[:, case, None] * np.diagonal(inner, axis1=1, axis2=2)
    variance = variance + np.einsum("snp,spq,snq->sn", reach, cov, reach)
    variance = variance.reshape(*usable.shape, width)
    return (beyond + gain @ beyond).reshape(*usable.shape, parts), _widened(variance, parts)


def _widened(variance, parts):
    return np.broadcast_to(variance, (*variance.shape[:2], parts))


def _on_diagonal(values):
    return values[:, None] * np.eye(values.shape[1])


def _diagonal(cov):
    return np.diagonal(cov, axis1=-2, axis2=-1)
