"""Undisturbed intervals as independent rows, and how well a random walk explains their scatter.

An interval of length t moves by rate·t, wanders by a random walk of variance q·t in each part, and
carries the measurement errors of both its ends. Divided by √t, the walk weighs every row alike;
turned to the principal axes of the measurement covariance, the rows are independent with variance
λ + q, whatever q is. So the walk is sought without solving a matrix again for each trial.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import eigh_tridiagonal

from .intervals import Intervals

# A variance no less than this share of the squared change keeps weights finite where no
# uncertainty was stated.
_LEAST_SHARE = 1e-14
_LEAST = 1e-100
_LONG_RUN = 32  # from here it pays to know that all but the diagonal and its neighbours is nought


@dataclass(frozen=True)
class Rows:
    """Independent rows, the series on the last axis so that sums run over long memory.

    ``spread`` (N, S) λ; ``design`` (p, N, S); ``response`` (m, N, S); ``count`` (S,) intervals;
    ``stated`` (S,), is a measurement uncertainty stated at all? Parts with equal, uncorrelated
    uncertainty share one column (p = 1, m = c); else p = c, m = 1.
    """

    spread: np.ndarray
    design: np.ndarray
    response: np.ndarray
    count: np.ndarray
    stated: np.ndarray

    @property
    def parts(self) -> int:
        return len(self.design) * len(self.response)

    def pick(self, which) -> Rows:
        """The rows of some of the series."""
        return Rows(
            np.ascontiguousarray(self.spread[:, which]),
            np.ascontiguousarray(self.design[..., which]),
            np.ascontiguousarray(self.response[..., which]),
            self.count[which],
            self.stated[which],
        )


def independent_rows(intervals: Intervals) -> Rows:
    """The rows of the undisturbed intervals; padded and disturbed ones are rows of zeros."""
    free = intervals.undisturbed
    root = np.sqrt(np.where(free, intervals.elapsed, 1.0))
    response = np.where(free[..., None], intervals.change_um, 0.0) / root[..., None]
    measured = intervals.start_cov_um2 + intervals.end_cov_um2
    shape = (slice(None), slice(None)) + (None,) * (measured.ndim - 2)
    blank = 1.0 if measured.ndim == 2 else np.eye(intervals.parts)
    spread = np.where(free[shape], measured, blank) / root[shape] ** 2
    design = np.where(free, root, 0.0)
    if measured.ndim == 2:
        rows = [spread, design[..., None], response]
    else:
        rows = _turned(spread, design, response)
    rows = [np.ascontiguousarray(row) for row in rows]
    for at, turned in _turned_runs(intervals, free):
        for row, part in zip(rows, turned, strict=True):
            each = row.reshape(*free.shape, -1, *row.shape[2:])
            each[at] = part.reshape(*at[1].shape, *each.shape[2:])
    spread, design, response = rows
    least = _LEAST_SHARE * (response**2).max(axis=(1, 2), initial=0.0)
    spread = np.maximum(spread, np.maximum(least, _LEAST)[:, None])
    return Rows(
        np.ascontiguousarray(spread.T),
        np.ascontiguousarray(np.moveaxis(design, (2, 1), (0, 1))),
        np.ascontiguousarray(np.moveaxis(response, (2, 1), (0, 1))),
        free.sum(axis=1),
        (_any_part(measured > 0) & free).any(axis=1),
    )


def neighbours_share(intervals: Intervals, among: np.ndarray) -> np.ndarray:
    """(S, n - 1): does interval i + 1 start from the measurement that ended interval i?"""
    return intervals.shares_start[:, 1:] & among[:, 1:] & among[:, :-1]


def runs_of(linked: np.ndarray):
    """Runs of intervals that share measurements, each with the next: series, first and length.

    ``linked`` (S, n - 1) as `neighbours_share` gives it; three index arrays (R,). Where something
    was adjusted between two intervals, their errors have nothing to do with each other.
    """
    edge = np.zeros((len(linked), 1), bool)
    padded = np.concatenate([edge, linked, edge], axis=1)
    series, first = np.nonzero(~padded[:, :-1] & padded[:, 1:])
    last = np.nonzero(padded[:, :-1] & ~padded[:, 1:])[1]
    return series, first, last - first + 1


def measurement_covariance(intervals: Intervals, among: np.ndarray):
    """Dense covariance of the measurement errors of each series, in µm².

    (S, n, n), or (S, n·c, n·c) interval by interval when parts differ. Intervals not ``among``
    get a row of the unit matrix. Neighbours that share a measurement correlate negatively.
    """
    start, end = intervals.start_cov_um2, intervals.end_cov_um2
    if start.ndim == 2:
        start, end = start[..., None, None], end[..., None, None]
    linked = neighbours_share(intervals, among)
    (s, n), c = among.shape, start.shape[-1]
    full = np.zeros((s, n, c, n, c))
    at = np.arange(n)
    here = np.where(among[..., None, None], start + end, np.eye(c))
    full[:, at, :, at, :] = np.moveaxis(here, 1, 0)
    shared = np.moveaxis(np.where(linked[..., None, None], -end[:, :-1], 0.0), 1, 0)
    full[:, at[:-1], :, at[1:], :] = shared
    full[:, at[1:], :, at[:-1], :] = np.swapaxes(shared, -1, -2)
    return full.reshape(s, n * c, n * c)


def _any_part(stated):
    return stated if stated.ndim == 2 else stated.any(axis=(2, 3))


def _turned(spread, design, response):
    """Rows turned so that the parts of each interval no longer correlate."""
    spread, axes = np.linalg.eigh(spread)
    s, n, c = spread.shape
    design = design[..., None, None] * np.swapaxes(axes, -1, -2)
    response = np.einsum("snij,sni->snj", axes, response)
    return [
        np.maximum(spread.reshape(s, n * c), 0.0),
        design.reshape(s, n * c, c),
        response.reshape(s, n * c, 1),
    ]


def _turned_runs(intervals, free):
    """For the runs of each length: where they stand, (R, 1) and (R, l), and their rows, turned to
    the axes of the covariance of the whole run."""
    series, first, length = runs_of(neighbours_share(intervals, free))
    for count in np.unique(length):
        some = length == count
        run = intervals.cut(series[some], first[some], length[some])
        at = series[some, None], first[some, None] + np.arange(count)
        yield at, _turned_run(run)


def _turned_run(run):
    covariance = measurement_covariance(run, run.present)
    root = np.sqrt(run.elapsed)
    c = covariance.shape[-1] // root.shape[1]
    scale = np.repeat(root, c, axis=1)
    spread, axes = _principal_axes(covariance / scale[:, :, None] / scale[:, None, :], c)
    change = run.change_um / root[..., None]
    design = root[..., None, None] * np.eye(c)
    back = np.swapaxes(axes, -1, -2)
    response = change.reshape(len(change), -1, 1) if c > 1 else change
    return (
        np.maximum(spread, 0.0),
        back @ design.reshape(len(design), -1, c),
        back @ response,
    )


def _principal_axes(covariance, parts):
    """Variances and axes of a run, whose intervals correlate with their neighbours alone."""
    if parts > 1 or covariance.shape[-1] < _LONG_RUN:
        return np.linalg.eigh(covariance)
    each = [eigh_tridiagonal(np.diagonal(one), np.diagonal(one, 1)) for one in covariance]
    return tuple(np.stack(part) for part in zip(*each, strict=True))


class WalkProfile:
    """The weighted residual sum Q(q) of one batch of rows as a function of the walk q.

    At the true q, Q(q) is a chi-squared figure with (rows less parameters) degrees of freedom,
    exactly, however uneven the intervals: the pivot that tells what walks the data allow.
    """

    def __init__(self, rows: Rows):
        self.rows = rows
        self._few = len(rows.design)
        self._base = self._first_rate()
        rest = rows.response - np.einsum("pns,pms->mns", rows.design, self._base)
        pairs = [(rows.design[i] * rows.design[j]) for i in range(self._few) for j in range(i + 1)]
        cross = [rows.design[i] * r for r in rest for i in range(self._few)]
        self._products = np.stack([*pairs, *cross, (rest**2).sum(axis=0)])

    def _first_rate(self):
        """Unweighted rate, taken out first so that sums of squares do not cancel."""
        design, response = self.rows.design, self.rows.response
        gram = np.einsum("pns,qns->pqs", design, design)
        return solve_small(gram, np.einsum("pns,mns->pms", design, response))[0]

    def _sums(self, weight):
        return self._apart(np.einsum("kns,ns->ks", self._products, weight))

    def _apart(self, sums):
        """Sums (k, S) as the matrix, the right sides and the square of the normal equations."""
        few = self._few
        gram = np.empty((few, few, sums.shape[1]))
        pair = iter(sums)
        for i in range(few):
            for j in range(i + 1):
                gram[i, j] = gram[j, i] = next(pair)
        shape = (len(self.rows.response), few, sums.shape[1])
        cross = sums[few * (few + 1) // 2 : -1].reshape(shape).swapaxes(0, 1)
        return gram, cross, sums[-1]

    def trials(self, walks):
        """Q (W, S) and the covariance of the rate (p, p, W, S) at each of ``walks`` (W, S)."""
        weight = 1.0 / (self.rows.spread + walks[:, None])
        sums = np.einsum("kns,wns->kws", self._products, weight)
        gram, cross, square = self._apart(sums.reshape(len(sums), -1))
        rate, covariance = solve_small(gram, cross)
        total = np.maximum(square - (rate * cross).sum(axis=(0, 1)), 0.0)
        return total.reshape(walks.shape), covariance.reshape(*gram.shape[:2], *walks.shape)

    def residual_sum(self, walk):
        """Q and dQ/dq at ``walk`` (S,)."""
        weight = 1.0 / (self.rows.spread + walk)
        gram, cross, square = self._sums(weight)
        rate, _ = solve_small(gram, cross)
        gram2, cross2, square2 = self._sums(weight * weight)
        slope = square2 - 2 * (rate * cross2).sum(axis=(0, 1))
        slope += np.einsum("pms,pqs,qms->s", rate, gram2, rate)
        return np.maximum(square - (rate * cross).sum(axis=(0, 1)), 0.0), -slope

    def rate(self, walk):
        """The rate (p, m, S) at ``walk`` and its covariance (p, p, S) for each response."""
        gram, cross, _ = self._sums(1.0 / (self.rows.spread + walk))
        rate, covariance = solve_small(gram, cross)
        return rate + self._base, covariance

    def walk_at(self, target, start, prior_sum):
        """The walk q (S,) where Q(q) + prior_sum / q comes down to ``target``; 0 if it is below.

        Newton on the reciprocal, which is concave and nearly straight: from the left it climbs to
        the root without passing it. ``start`` must lie left of the root or at it.
        """
        walk = np.maximum(start, prior_sum / target)
        for _ in range(60):
            total, slope = self.residual_sum(walk)
            share = np.divide(prior_sum, walk, out=np.zeros_like(walk), where=walk > 0)
            total = total + share
            slope = slope - np.divide(share, walk, out=np.zeros_like(walk), where=walk > 0)
            climb = (total > target) & (slope < 0)
            step = np.zeros_like(walk)
            np.divide((total / target - 1) * total, -slope, out=step, where=climb)
            walk = walk + step
            # Each step squares what is left of the error, so the one just taken is good enough.
            if np.all(step <= 1e-4 * walk):
                break
        return walk


def solve_small(gram, right):
    """Solve (p, p, S) x = (p, m, S) for p of 1 or 2; zeros where the matrix is singular.

    Returns x and the inverse (p, p, S).
    """
    if len(gram) == 1:
        inverse = np.divide(1.0, gram, out=np.zeros_like(gram), where=gram > 0)
        return inverse * right, inverse
    determinant = gram[0, 0] * gram[1, 1] - gram[0, 1] ** 2
    scale = np.divide(1.0, determinant, out=np.zeros_like(determinant), where=determinant > 0)
    inverse = np.stack([gram[1, 1], -gram[0, 1], -gram[0, 1], gram[0, 0]]) * scale
    inverse = inverse.reshape(gram.shape)
    return np.einsum("pqs,qms->pms", inverse, right), inverse
