"""Borrowing from machines of the same model and station, where a machine's own visits are few.

Empirical Bayes: the other machines tell how far such machines wander and at what rates they drift,
and how alike they are. Each machine's own figures are then drawn towards theirs, the more so the
less its own visits say and the more alike the others are. A machine is never its own example:
whatever it borrows comes from the others alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from .belief import CASES, Belief, chi_squared_cases
from .drift import DriftFit, WalkPrior, fit_belief, fit_drift, fit_rates
from .intervals import Intervals
from .others import Others, can_borrow, rates_of_others, walk_of_others
from .rows import independent_rows

_CASE_FIELDS = ("weight", "walk_um2", "rate_um", "rate_cov_um2", "scale")


@dataclass(frozen=True)
class Borrowed:
    """S series after borrowing.

    ``fit``: their drift, with the walk of the others known beforehand; ``belief``: for the
    forecast, with the rates of the others too; ``rate_um`` (S, c), the rate so drawn together;
    ``share`` (S,), from 0 to 1, how much of that rate comes from other machines; ``others`` (S,),
    how many machines it borrows from, 0 for none.
    """

    fit: DriftFit
    belief: Belief
    rate_um: np.ndarray
    share: np.ndarray
    others: np.ndarray

    def note(self, series: int) -> str:
        """How much was borrowed, or that there was nothing to borrow from."""
        own = self.fit.note(series)
        others, share = int(self.others[series]), self.share[series]
        if others:
            said = f"{100 * share:.0f} % of the rate comes from {others} other machines like it."
        elif self.belief.known[series]:
            said = "Rests on its own visits alone: no other machines like it to borrow from."
        else:
            said = "No forecast: too few visits, and no other machines like it to borrow from."
        return f"{own} {said}".strip()


@dataclass(frozen=True)
class Lent:
    """What the other machines lend to each of S series, whatever is known of its own."""

    prior: WalkPrior
    others: Others

    def to(self, intervals: Intervals) -> Borrowed:
        """The series fitted to their own ``intervals`` and what is lent to them."""
        fit = fit_drift(intervals, self.prior)
        belief, share = self._drawn(fit.belief)
        rate = (belief.weight[..., None] * belief.rate_um).sum(axis=1)
        rate = np.where((self.others.count > 0)[:, None], rate, fit.rate_um)
        return Borrowed(fit, belief, rate, share, self.others.count)

    def belief_of(self, intervals: Intervals) -> Belief:
        """The ``belief`` of `to` alone, in less time."""
        return self._drawn(fit_belief(intervals, self.prior))[0]

    def _drawn(self, belief):
        return _drawn_together(_without_own(belief, self.prior, self.others), self.others)


def borrow(intervals: Intervals, groups) -> Borrowed:
    """Fit every series, borrowing within its group.

    ``groups`` (S,): equal labels for series of the same model, station and item. A series with no
    interval at all, a machine seen once, borrows everything. Raises ValueError when there is not
    one label for each series.
    """
    everybody = np.arange(intervals.series)
    return lend(intervals, groups, np.ones(intervals.series, bool), everybody).to(intervals)


def lend(intervals: Intervals, groups, lends, wanted) -> Lent:
    """What the series that ``lends`` (S,) marks lend to those ``wanted``, an index array, of
    their groups; a series is never its own lender. Otherwise as `borrow`."""
    groups = np.asarray(groups)
    if groups.shape != (intervals.series,):
        raise ValueError(f"Expected one group for each of the {intervals.series} series.")
    group, lends = np.unique(groups, return_inverse=True)[1], np.asarray(lends, bool)
    tells = lends & (intervals.undisturbed.sum(axis=1) > 1)
    served = np.isin(group, group[wanted][can_borrow(group, tells)[wanted]])
    if not served.any():
        return _nothing(len(wanted), intervals.parts)
    kept = lends & served
    kept[wanted] = True
    group, lends, place = group[kept], lends[kept], np.cumsum(kept)[wanted] - 1
    rows = independent_rows(intervals.take(np.flatnonzero(kept)))
    prior = walk_of_others(rows, group, lends)
    others = rates_of_others(*fit_rates(rows, prior), group, lends, place)
    prior = WalkPrior(prior.variance_um2[place], prior.dof[place])
    return Lent(prior, replace(others, count=np.where(prior.dof > 0, others.count, 0)))


def _nothing(series, parts):
    unknown = np.full((series, CASES), np.nan)
    centre = np.full((series, CASES, parts), np.nan)
    others = Others(unknown, centre, unknown, np.zeros(series, int))
    return Lent(WalkPrior(np.zeros(series), np.zeros(series)), others)


def _without_own(belief, prior, others):
    """The belief, with the walk of the others where a series has nothing of its own."""
    bare = np.flatnonzero(~belief.known & (others.count > 0))
    figures, weight = chi_squared_cases(prior.dof[bare])
    walk, weights, scale = belief.walk_um2.copy(), belief.weight.copy(), belief.scale.copy()
    walk[bare] = (prior.dof[bare] * prior.variance_um2[bare] / figures).T
    weights[bare], scale[bare] = weight.T, 1.0
    return replace(belief, weight=weights, walk_um2=walk, scale=scale)


def _drawn_together(belief, others):
    """The belief with each rate drawn towards the others', and the share (S,) that is theirs.

    Every case of the machine meets every case of the others, weighted by how well they agree.
    """
    series, cases, parts = belief.rate_um.shape
    some = np.flatnonzero(others.count > 0)
    own, pair = belief.take(some), (len(some), cases, cases)
    unit = np.eye(parts)
    rate = np.broadcast_to(own.rate_um[:, :, None], (*pair, parts))
    cov = np.broadcast_to(own.rate_cov_um2[:, :, None], (*pair, parts, parts))
    centre = np.broadcast_to(others.centre[some, None], (*pair, parts))
    prior = others.variance[some, None, :, None, None] * unit
    weight = own.weight[:, :, None] * others.weight[some, None]
    bare = ~own.known[:, None, None]
    rate = np.where(bare[..., None], centre, rate)
    cov = np.where(bare[..., None, None], 0.0, cov)
    both = np.linalg.inv(cov + prior)
    theirs = cov @ both
    away = centre - rate
    weight = weight * np.where(bare, 1.0, _agreement(away, both))
    weight = weight / weight.sum(axis=(1, 2), keepdims=True)
    rate = rate + np.einsum("...ij,...j->...i", theirs, away)
    cov = np.where(bare[..., None, None], prior, theirs @ prior)
    share = np.where(bare, 1.0, np.trace(theirs, axis1=3, axis2=4) / parts)
    shares = np.zeros(series)
    shares[some] = np.where(own.known, (weight * share).sum(axis=(1, 2)), 1.0)
    return _with_pairs(belief, some, weight, rate, cov), shares


def _agreement(away, precision):
    """Normal density, but for a constant, of being ``away`` (..., c)."""
    distance = np.einsum("...i,...ij,...j->...", away, precision, away)
    size = np.linalg.det(precision)
    return np.sqrt(size) * np.exp(-(distance - distance.min(axis=(1, 2), keepdims=True)) / 2)


def _with_pairs(belief, some, weight, rate, cov):
    """A belief of K² cases: the pairs for ``some``, each old case K times over for the rest."""
    _, cases, parts = belief.rate_um.shape
    old = [np.repeat(getattr(belief, f), cases, axis=1) for f in _CASE_FIELDS]
    wide = Belief(old[0] / cases, *old[1:], belief.known.copy())
    flat = (len(some), cases * cases)
    wide.weight[some] = weight.reshape(flat)
    wide.rate_um[some] = rate.reshape(*flat, parts)
    wide.rate_cov_um2[some] = cov.reshape(*flat, parts, parts)
    wide.known[some] = True
    return wide
