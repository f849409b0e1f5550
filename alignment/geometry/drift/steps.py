"""Steps at incidents: what an interval moved beyond the wear that the other intervals explain.

Giving each interval with an incident a parameter of its own is the same as leaving it out of the
rate and taking what it moved beyond the prediction from all others. A measurement shared with a
neighbour corrects that prediction, because its error can then be told in part.
"""

from __future__ import annotations

import numpy as np

from .intervals import Intervals
from .posterior import Belief, quantiles_of_cases
from .undisturbed import measurement_covariance, neighbours_share

ENDS = (0.025, 0.975)
_BATCH = 2048
_CELLS = 2**20  # of the matrices worked on together
# A step leans on the intervals it shares measurements with, through others too. Without a walk
# each of n on one side counts alike, so those beyond this many add less than a thirtieth of the
# variance of one measurement; with a walk, less.
_REACH = 32
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
    first, length = _surroundings(shared, at)
    shape = (len(at[0]), belief.weight.shape[1], intervals.parts)
    centre, deviation = np.empty(shape), np.empty(shape)
    for few in _alone(length):
        picked = at[0][few], at[1][few]
        centre[few], deviation[few] = _plain(intervals, picked, belief)
    for few in _together(length, shape[1]):
        series, begin = at[0][few], first[few]
        run = intervals.cut(series, begin, length[few])
        along = np.minimum(begin[:, None] + np.arange(run.elapsed.shape[1]), shared.shape[1])
        here = disturbed[series[:, None], along] & run.present
        found = _with_neighbours(run, at[1][few] - begin, belief.take(series), here)
        centre[few], deviation[few] = found
    return centre, deviation


def _surroundings(shared, at):
    """First interval and number (M,) of those that share measurements with each of ``at``, through
    others too: what lies between two adjustments, as far as it counts."""
    edge = np.zeros((len(shared), 1), bool)
    place = np.arange(shared.shape[1] + 1)
    begins = np.where(np.concatenate([edge, shared], axis=1), 0, place)
    ends = np.where(np.concatenate([shared, edge], axis=1), place[-1], place)
    begin = np.maximum.accumulate(begins, axis=1)[at]
    end = np.minimum.accumulate(ends[:, ::-1], axis=1)[:, ::-1][at]
    first = np.maximum(begin, at[1] - _REACH)
    return first, np.minimum(end, at[1] + _REACH) - first + 1


def _alone(length):
    """Batches of those that share no measurement."""
    place = np.flatnonzero(length == 1)
    return np.split(place, range(_BATCH, len(place), _BATCH)) if len(place) else []


def _together(length, cases):
    """Batches of the others, those of like length together, so that their matrices stay small."""
    place = np.flatnonzero(length > 1)
    place = place[np.argsort(-length[place], kind="stable")]
    while place.size:
        most = max(1, _CELLS // int(cases * length[place[0]] ** 2))
        few, place = place[:most], place[most:]
        yield few


def _plain(intervals, at, belief):
    """Step and its standard deviation in each case, both (M, K, c)."""
    belief, elapsed = belief.take(at[0]), intervals.elapsed[at][:, None, None]
    centre = intervals.change_um[at][:, None] - elapsed * belief.rate_um
    measured = (intervals.start_cov_um2 + intervals.end_cov_um2)[at]
    measured = measured[:, None] if measured.ndim == 1 else _diagonal(measured)
    own = measured[:, None] + belief.walk_um2[..., None] * elapsed
    variance = belief.scale[..., None] * own + elapsed**2 * _diagonal(belief.rate_cov_um2)
    return centre, np.sqrt(variance)


def _with_neighbours(run, where, belief, here):
    """The same for the interval ``where`` (M,) of each of M runs that share measurements, ``here``
    (M, n) the disturbed ones.

    With the precision of all usable intervals split into disturbed (J) and other (R) ones, the
    errors of J given those of R have precision P_JJ and mean -P_JJ⁻¹ P_JR e_R.
    """
    cases, parts = belief.weight.shape[1], run.parts
    walk, scale = belief.walk_um2.reshape(-1, 1), belief.scale.reshape(-1, 1)
    rate = belief.rate_um.reshape(-1, 1, parts)
    covariance = measurement_covariance(run, run.usable)
    usable, size = run.usable, covariance.shape[-1]
    width = size // usable.shape[1]
    elapsed = np.where(usable, run.elapsed, 0.0)
    change = np.where(usable[..., None], run.change_um, 0.0)
    covariance = covariance + _LEAST_UM2 * np.eye(size)
    # From here on a row for each case of each run.
    covariance, elapsed, change = (
        np.repeat(a, cases, axis=0) for a in (covariance, elapsed, change)
    )
    here = np.repeat(np.repeat(here, width, axis=1), cases, axis=0)
    walked = covariance + _on_diagonal(np.nan_to_num(walk) * np.repeat(elapsed, width, axis=1))
    precision = np.linalg.inv(walked)
    inner = np.where(here[:, :, None] & here[:, None], precision, 0.0) + _on_diagonal(~here)
    inner = np.linalg.inv(inner)
    gain = np.where(here[:, :, None], inner @ np.where(here[:, None], 0.0, precision), 0.0)
    beyond = (change - elapsed[..., None] * rate).reshape(len(here), size, -1)
    reach = (elapsed[..., None, None] * np.eye(width)).reshape(*here.shape, width)
    reach = reach + gain @ reach
    cov = belief.rate_cov_um2.reshape(-1, parts, parts)[:, :width, :width]
    variance = scale * np.diagonal(inner, axis1=1, axis2=2)
    variance = variance + np.einsum("snp,spq,snq->sn", reach, cov, reach)
    at = np.arange(len(here)), np.repeat(where, cases)
    centre = (beyond + gain @ beyond).reshape(*elapsed.shape, parts)[at]
    deviation = np.sqrt(variance.reshape(*elapsed.shape, width)[at])
    shape = (len(where), cases, parts)
    return centre.reshape(shape), np.broadcast_to(deviation.reshape(*shape[:2], width), shape)


def _on_diagonal(values):
    return values[:, None] * np.eye(values.shape[1])


def _diagonal(cov):
    return np.diagonal(cov, axis1=-2, axis2=-1)
