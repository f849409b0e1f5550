"""What the other machines of a group say of the walk and the rate, for each machine in turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special

from .belief import CASES, chi_squared_cases
from .drift import WalkPrior
from .rows import Rows, WalkProfile, independent_rows

FEWEST_OTHERS = 2  # one other machine cannot show how alike machines are
_DOF_GRID = np.array([1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0])
_WALK_STEPS = 32
_LARGE_GROUP = 200  # machines


def members_of(groups):
    """Indices of the series in each group."""
    _, group = np.unique(groups, return_inverse=True)
    order = np.argsort(group, kind="stable")
    return np.split(order, np.cumsum(np.bincount(group))[:-1]) if len(groups) else []


def walk_of_others(intervals, members):
    """What the other machines of its group say of the walk, for each series."""
    rows = independent_rows(intervals)
    dof = intervals.parts * np.maximum(rows.count - 1, 0)
    walk, freedom = np.zeros(intervals.series), np.zeros(intervals.series)
    for some in members:
        telling = some[dof[some] > 0]
        if len(telling) < FEWEST_OTHERS or len(some) <= FEWEST_OTHERS:
            continue
        trials, likelihood = _walk_likelihood(rows.pick(telling), dof[telling])
        own = np.zeros((len(some), *likelihood.shape[1:]))
        own[np.isin(some, telling)] = likelihood
        plausible = _normalised(likelihood.sum(axis=0) - own)
        rest = np.maximum(dof[telling].sum() - dof[some], 1)
        enough = len(telling) - (dof[some] > 0) >= FEWEST_OTHERS
        walk[some] = np.einsum("swf,w->s", plausible, trials)
        # The others cannot make the walk known better than their own freedom allows.
        limit = 1 / (np.einsum("swf,f->s", plausible, 1 / _DOF_GRID) + 1 / rest)
        freedom[some] = np.where(enough, limit, 0.0)
    return WalkPrior(walk, freedom)


def _normalised(likelihood):
    """Weights (s, walks, freedoms) of the trials, summing to 1 for each machine."""
    weight = np.exp(likelihood - likelihood.max(axis=(1, 2), keepdims=True))
    return weight / weight.sum(axis=(1, 2), keepdims=True)


def _walk_likelihood(rows, dof):
    """Log likelihood (s, walks, freedoms) of each machine's residuals, and the walks tried.

    The restricted likelihood of a multivariate t: all machines wander alike on the average, and
    the freedom says how much they differ.
    """
    profile = WalkProfile(rows)
    trials = _trial_walks(rows)
    padding = len(rows.spread) - rows.count * len(rows.design)
    half = (dof[:, None] + _DOF_GRID) / 2
    constant = special.gammaln(half) - special.gammaln(_DOF_GRID / 2)
    constant = constant - dof[:, None] / 2 * np.log(_DOF_GRID)
    each = np.empty((len(dof), len(trials), len(_DOF_GRID)))
    for step, trial in enumerate(trials):
        walk = np.full(len(dof), trial)
        total, _ = profile.residual_sum(walk)
        _, inverse = profile.rate(walk)
        size = np.log(rows.spread + trial).sum(axis=0) - padding * np.log(1 + trial)
        size = len(rows.response) * (size - _log_determinant(inverse))
        each[:, step] = constant - size[:, None] / 2
        each[:, step] -= half * np.log1p(total[:, None] / _DOF_GRID)
    return trials, each


def _trial_walks(rows):
    """Walks from far below the measurement's scatter to beyond the largest change."""
    real = np.abs(rows.design).sum(axis=0) > 0
    low = 1e-3 * np.median(rows.spread[real])
    high = 10 * np.max(rows.response**2)
    return np.geomspace(low, max(high, 10 * low), _WALK_STEPS)


def _log_determinant(inverse):
    if len(inverse) == 1:
        return np.log(inverse[0, 0])
    return np.log(inverse[0, 0] * inverse[1, 1] - inverse[0, 1] ** 2)


@dataclass(frozen=True)
class Others:
    """What the other machines of each series' group say of its rate, in K cases.

    ``weight`` (S, K), ``centre`` (S, K, c), ``variance`` (S, K) of each part for a further
    machine, ``count`` (S,) of machines, 0 where too few.
    """

    weight: np.ndarray
    centre: np.ndarray
    variance: np.ndarray
    count: np.ndarray


def rates_of_others(fit, members):
    """How much machines differ is as badly known from a few as a walk is, and treated alike.

    A further machine's rate is spread about the others' mean as a change is about a rate: the
    rates are the rows, their uncertainty is the spread, and the variance between machines takes
    the place of the walk.
    """
    series, parts = fit.rate_um.shape
    variance = np.diagonal(fit.rate_cov_um2, axis1=1, axis2=2).mean(axis=1)
    shape = (series, CASES)
    others = Others(
        np.full(shape, np.nan),
        np.full((*shape, parts), np.nan),
        np.full(shape, np.nan),
        np.zeros(series, int),
    )
    for some in members:
        known = np.isfinite(variance[some]) & (variance[some] > 0)
        count = known.sum() - known
        take = count >= FEWEST_OTHERS
        others.count[some[take]] = count[take]
        if take.any():
            source = fit.rate_um[some[known]], variance[some[known]]
            place = np.where(known, np.cumsum(known) - 1, -1)[take]
            cases = _cases_without(*source, place)
            for whole, part in zip(
                (others.weight, others.centre, others.variance), cases, strict=True
            ):
                whole[some[take]] = part
    return others


def _cases_without(rate, variance, place):
    """Weight, centre and variance of the cases for machines at ``place`` among the others.

    -1 stands for a machine that is not among them. In a large group leaving one out changes
    nothing to speak of, and all share one answer.
    """
    one_answer = len(rate) > _LARGE_GROUP
    left_out = np.array([-1]) if one_answer else place
    keep = np.arange(len(rate))[:, None] != left_out
    count = keep.sum(axis=0)
    rows = Rows(
        np.where(keep, variance[:, None], 1.0),
        keep[None].astype(float),
        np.where(keep, rate.T[:, :, None], 0.0),
        count,
        np.ones(len(left_out), bool),
    )
    profile = WalkProfile(rows)
    figures, weight = chi_squared_cases(rate.shape[1] * (count - 1.0))
    between, cases = np.zeros(len(left_out)), []
    for figure in figures:
        between = profile.walk_at(figure, between, np.zeros(len(left_out)))
        centre, of_centre = profile.rate(between)
        cases.append((centre[0].T, between + of_centre[0, 0]))
    centre, spread = (np.stack(column, axis=1) for column in zip(*cases, strict=True))
    found = weight.T, centre, spread
    return [np.repeat(f, len(place), axis=0) for f in found] if one_answer else found
