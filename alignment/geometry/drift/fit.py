"""Drift between visits: a rate, steps at incidents and a random walk, for many series at once.

What moved over an interval of length t is taken as

    change = rate · t + step (where an incident was logged) + walk of variance q · t + error

with the stated measurement covariance of both ends as the error. Rate and steps are fitted by
generalised least squares. An interval that holds an incident has its step to explain it, so it
says nothing of the rate. The best walk q is the one at which the weighted residuals come to their
expected size (Paule and Mandel 1982, from memory); where they are smaller even without a walk, the
covariance shrinks with them (Hartung and Knapp 2001, from memory).

Intervals do not take that q for the truth. Every chi-squared figure the residuals might have had
answers to one walk, and that walk to one rate and covariance; rate and step are read off the
mixture. With equal intervals it is Student's t exactly. The simulations among the tests hold it to
its 95 % from three visits on.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from scipy import special

from alignment.geometry.gls import back_substitute, orthogonalise

from .intervals import Intervals
from .posterior import Belief, chi_squared_cases, quantiles_of_cases
from .remarks import Remark, in_words
from .steps import fit_steps
from .undisturbed import Rows, WalkProfile, independent_rows

LEVEL = 0.95
# Chance that residuals come out this small if the stated uncertainty is true. Below it the values
# are taken for copied, rounded or stuck, and the stated uncertainty is believed instead.
TOO_ALIKE = 0.001
# Residuals that happen to be small never shrink an interval below one standard deviation (k = 1)
# of the measurement alone: few values that agree do not make a better indicator.
LEAST_SCALE = 1 / special.ndtri((1 + LEVEL) / 2) ** 2
# Weighted residual sum of changes that agree to rounding, with the least spread of ``rows``.
IDENTICAL_SUM = 100.0
_BATCH = 8192  # series worked on together: fits the processor's cache


@dataclass(frozen=True)
class WalkPrior:
    """A random walk known from elsewhere, such as from other machines of the model.

    ``variance_um2`` (S,) or a number, µm² per unit of time in each part; ``dof``, on how many
    degrees of freedom it rests (infinite: taken as certain; 0: none).
    """

    variance_um2: np.ndarray | float
    dof: np.ndarray | float = np.inf


@dataclass(frozen=True)
class DriftFit:
    """Drift of S series with n intervals and c parts; NaN where the data do not tell.

    ``rate_um`` (S, c) µm per unit of time with the ends ``rate_low_um`` and ``rate_high_um`` of
    its 95 % interval and ``rate_cov_um2`` (S, c, c); ``step_um``, ``step_low_um``,
    ``step_high_um`` (S, n, c) for intervals with an incident; ``walk_um2`` (S,) variance per unit
    of time of each part; ``residual_scale`` (S,), scatter over what the stated uncertainty alone
    would give; ``dof`` (S,) behind the intervals; ``used`` (S,) undisturbed intervals; ``remark``
    (S,) bits of ``Remark``; ``belief`` for the forecast.
    """

    rate_um: np.ndarray
    rate_low_um: np.ndarray
    rate_high_um: np.ndarray
    rate_cov_um2: np.ndarray
    step_um: np.ndarray
    step_low_um: np.ndarray
    step_high_um: np.ndarray
    walk_um2: np.ndarray
    residual_scale: np.ndarray
    dof: np.ndarray
    used: np.ndarray
    remark: np.ndarray
    belief: Belief
    remarks: tuple[tuple[str, ...], ...] = ()

    def note(self, series: int) -> str:
        """What the reader should know about one series, in plain sentences; may be empty."""
        own = self.remarks[series] if self.remarks else ()
        return in_words(int(self.remark[series]), own)


@dataclass(frozen=True)
class _Best:
    """The best estimates of a batch: rate (S, c), its covariance, walk, residual sum, remarks."""

    rate_um: np.ndarray
    rate_cov_um2: np.ndarray
    walk_um2: np.ndarray
    plain_sum: np.ndarray
    alike: np.ndarray


def fit_drift(intervals: Intervals, walk: WalkPrior | None = None) -> DriftFit:
    """Fit every series of ``intervals``; see the module for the model.

    ``walk``: what is known of the random walk beforehand; with it a single undisturbed interval
    already gets an interval. Never raises for poor data: what cannot be told is NaN, and
    ``note(i)`` says why. Raises ValueError when ``walk`` has a negative or missing figure.
    """
    rows = independent_rows(intervals)
    batches = _batches(rows, walk)
    best, belief = (_joined([f(b) for b in batches]) for f in (_best, _belief))
    dof = np.concatenate([batch.dof for batch in batches])
    low, high = rate_interval(belief)
    return DriftFit(
        best.rate_um,
        low,
        high,
        best.rate_cov_um2,
        *fit_steps(intervals, _as_belief(best), belief),
        best.walk_um2,
        _root_ratio(best.plain_sum, _own_dof(rows)),
        dof,
        rows.count,
        _remark_bits(intervals, rows, best, dof),
        belief,
        intervals.remarks,
    )


def fit_rates(rows: Rows, walk: WalkPrior):
    """``rate_um`` and ``rate_cov_um2`` of `fit_drift` alone, from `independent_rows`."""
    best = _joined([_best(batch) for batch in _batches(rows, walk)])
    return best.rate_um, best.rate_cov_um2


def fit_belief(intervals: Intervals, walk: WalkPrior | None = None) -> Belief:
    """The ``belief`` of `fit_drift` alone, in less time."""
    return _joined([_belief(batch) for batch in _batches(independent_rows(intervals), walk)])


def rate_interval(belief: Belief, level: float = LEVEL) -> tuple[np.ndarray, np.ndarray]:
    """Both ends (S, c) of the central ``level`` interval of each part of the rate."""
    deviation = np.sqrt(np.diagonal(belief.rate_cov_um2, axis1=-2, axis2=-1))
    return tuple(
        np.stack(
            [
                quantiles_of_cases(belief.weight, belief.rate_um[..., i], deviation[..., i], p)
                for i in range(deviation.shape[-1])
            ],
            axis=-1,
        )
        for p in ((1 - level) / 2, (1 + level) / 2)
    )


def _pieces(series):
    """Slices of one batch each; one empty slice when there is no series."""
    return [slice(i, i + _BATCH) for i in range(0, max(series, 1), _BATCH)]


def _joined(batches):
    kind = type(batches[0])
    return kind(*(np.concatenate([getattr(b, f.name) for b in batches]) for f in fields(kind)))


def _prior(walk, series):
    if walk is None:
        return np.zeros(series), np.zeros(series)
    variance = np.broadcast_to(np.asarray(walk.variance_um2, float), series)
    dof = np.broadcast_to(np.asarray(walk.dof, float), series)
    if not (np.all(variance[dof > 0] >= 0) and np.all(dof >= 0)):
        raise ValueError("The walk and its degrees of freedom must be numbers, not negative.")
    return np.where(dof > 0, variance, 0.0), dof


def _root_ratio(total, dof):
    ratio = np.divide(total, dof, out=np.full(total.shape, np.nan), where=dof > 0)
    return np.sqrt(ratio)


def _batches(rows, walk):
    variance, weight = _prior(walk, len(rows.count))
    return [
        _batch(rows.pick(piece), variance[piece], weight[piece])
        for piece in _pieces(len(rows.count))
    ]


def _own_dof(rows):
    """Degrees of freedom (S,) that the intervals of each series leave."""
    return rows.parts * np.maximum(rows.count - 1, 0)


def _batch(rows: Rows, variance, prior_dof):
    profile, own_dof = WalkProfile(rows), _own_dof(rows)
    plain_sum, _ = profile.residual_sum(np.zeros(len(own_dof)))
    dof = own_dof + prior_dof
    alike = (own_dof > 0) & (prior_dof == 0)
    alike &= plain_sum < special.chdtri(np.maximum(own_dof, 1), 1 - TOO_ALIKE)
    known = (dof > 0) & (rows.count > 0) & ~_identical(rows, plain_sum)
    return _Batch(rows, profile, plain_sum, variance, prior_dof, alike, known, dof)


@dataclass(frozen=True)
class _Batch:
    """Series worked on together, and which walk they allow for a given chi-squared figure of
    their residuals."""

    rows: Rows
    profile: WalkProfile
    plain_sum: np.ndarray
    variance: np.ndarray
    prior_dof: np.ndarray
    alike: np.ndarray
    known: np.ndarray
    dof: np.ndarray

    def at(self, target, start, least_scale=0.0):
        """The walk (S,), and the factor (S,) on the covariance where there is none."""
        certain = np.isinf(self.prior_dof)
        prior_sum = self.variance * np.where(certain, 0.0, self.prior_dof)
        walk = self.profile.walk_at(target, start, prior_sum)
        walk = np.where(certain, self.variance, np.where(self.alike, 0.0, walk))
        shrunk = np.clip(self.plain_sum / target, least_scale, 1.0)
        own = (walk == 0) & (self.prior_dof == 0) & ~self.alike
        return walk, np.where(own, shrunk, 1.0)


def _best(batch):
    """The best estimates of one batch."""
    dof, known = batch.dof, batch.known
    figure = np.where(np.isfinite(dof) & (dof > 0), dof, 1.0)
    walk, scale = batch.at(figure, np.zeros(len(dof)))
    rate, root = _weighted_rate(batch.rows, walk)
    cov = np.where(known, scale, np.nan) * np.einsum("ijs,kjs->iks", root, root)
    return _Best(
        _by_series(np.where(batch.rows.count > 0, rate, np.nan)),
        _square(cov, batch.rows.parts),
        np.where(known, walk, np.nan),
        batch.plain_sum,
        batch.alike,
    )


def _belief(batch):
    """The cases of one batch, the smallest walk first so that each search starts at the last."""
    known = batch.known
    figures, weights = chi_squared_cases(np.where(known, batch.dof, 1.0))
    walk = np.zeros(len(known))
    cases = []
    for figure in figures:
        walk, scale = batch.at(figure, walk, LEAST_SCALE)
        rate, cov = batch.profile.rate(walk)
        cases.append((walk, _by_series(rate), _square(cov * scale, batch.rows.parts), scale))
    columns = [np.stack(column, axis=1) for column in zip(*cases, strict=True)]
    for column in columns:
        column[~known] = np.nan
    return Belief(weights.T, *columns, known)


def _identical(rows, plain_sum):
    """Changes that agree to rounding while no uncertainty is stated: proof of nothing."""
    return ~rows.stated & (plain_sum <= IDENTICAL_SUM)


def _weighted_rate(rows, walk):
    """Rate (p, m, S) and the inverse root (p, p, S) of its information, by orthogonalisation."""
    root = 1.0 / np.sqrt(rows.spread + walk)
    upper, projected, _ = orthogonalise(rows.design * root, rows.response * root)
    return back_substitute(upper, projected)


def _by_series(rate):
    """(p, m, S) to (S, c)."""
    p, m, series = rate.shape
    return rate.reshape(p * m, series).T


def _square(cov, parts):
    """(p, p, S) to (S, c, c): one figure for all parts stands on the diagonal."""
    if len(cov) == parts:
        return np.ascontiguousarray(np.moveaxis(cov, -1, 0))
    return cov[0, 0][:, None, None] * np.eye(parts)


def _as_belief(best):
    """The best estimates as a belief of one case."""
    one = np.ones((len(best.rate_um), 1))
    known = np.isfinite(best.walk_um2)
    walk, cov = np.nan_to_num(best.walk_um2), np.nan_to_num(best.rate_cov_um2)
    return Belief(one, walk[:, None], best.rate_um[:, None], cov[:, None], one, known)


def _remark_bits(intervals, rows, best, dof):
    """Bits of ``Remark`` for each series."""
    present, usable = intervals.present, intervals.usable
    elapsed = np.nan_to_num(intervals.elapsed)
    identical = _identical(rows, best.plain_sum) & (rows.count > 1)
    said = {
        Remark.NO_INTERVAL: ~usable.any(axis=1),
        Remark.NO_TIME: (usable & (elapsed == 0)).any(axis=1),
        Remark.BACKWARDS: (present & (elapsed < 0)).any(axis=1),
        Remark.NOT_MEASURED: (present & (elapsed >= 0) & ~usable).any(axis=1),
        Remark.ALL_DISTURBED: (usable & intervals.incident).any(axis=1) & (rows.count == 0),
        Remark.ONE_INTERVAL: (rows.count == 1) & (dof == 0),
        Remark.TOO_ALIKE: rows.stated & best.alike,
        Remark.NO_UNCERTAINTY: (rows.count > 0) & ~rows.stated & ~identical,
        Remark.IDENTICAL: identical,
    }
    return sum(np.where(where, int(bit), 0) for bit, where in said.items())
