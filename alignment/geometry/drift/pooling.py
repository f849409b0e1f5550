"""Borrowing from machines of the same model and station, where a machine's own visits are few.

The other machines tell how far such machines wander and at what rates they drift, and how alike
they are. A machine never seen between two visits takes its rate from them whole. One with a record
of its own keeps its own interval: its rate is drawn towards theirs by no more than a seventh of
its own standard deviation (limited translation, Efron and Morris 1972, from memory), because each
machine may stand apart, and drawing it in further would hide the one that does. Where own and lent
rates disagree beyond chance, it is not drawn at all, and that is said. A machine is never its own
example: whatever it borrows comes from the others alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import special

from .fit import DriftFit, WalkPrior, fit_belief, fit_drift, fit_rates
from .intervals import Intervals
from .leave_one_out import Others, can_borrow, rates_of_others, walk_of_others
from .posterior import CASES, Belief, chi_squared_cases
from .undisturbed import independent_rows

# How far a rate may be drawn towards the others', in standard deviations of its own: far enough to
# help, and near enough for a machine that stands apart to keep 94 % of its 95 %.
MOST_DRAWN = 0.15
# Chance of calling a machine unlike the others although it is one of them.
APART = 0.01

_CASE_FIELDS = ("weight", "walk_um2", "rate_um", "rate_cov_um2", "scale")


@dataclass(frozen=True)
class Borrowed:
    """S series after borrowing.

    ``fit``: their drift, with the walk of the others known beforehand; ``belief``: for the
    forecast, with the rates of the others too; ``rate_um`` (S, c), the rate so drawn together;
    ``share`` (S,), from 0 to 1, how much of that rate comes from other machines; ``others`` (S,),
    how many machines it borrows from, 0 for none; ``apart`` (S,), whether its own rate and theirs
    disagree beyond chance.
    """

    fit: DriftFit
    belief: Belief
    rate_um: np.ndarray
    share: np.ndarray
    others: np.ndarray
    apart: np.ndarray

    def note(self, series: int) -> str:
        """How much was borrowed, or that there was nothing to borrow from."""
        own = self.fit.note(series)
        others, share = int(self.others[series]), self.share[series]
        if others and self.apart[series]:
            said = (
                f"It drifts unlike the {others} other machines like it, by more than chance "
                "explains: the rate is its own."
            )
        elif others and share == 1:
            said = (
                f"The rate is borrowed from {others} other machines like it, and so is any day "
                "that follows from it: in simulation, on the day given for a risk of 5 %, one in "
                "twenty of the machines like the others was out, and up to two in three of those "
                "that are not. Measure it again early."
            )
        elif others:
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
        belief, share, apart = self._drawn(fit.belief)
        rate = (belief.weight[..., None] * belief.rate_um).sum(axis=1)
        rate = np.where((self.others.count > 0)[:, None], rate, fit.rate_um)
        return Borrowed(fit, belief, rate, share, self.others.count, apart)

    def belief_of(self, intervals: Intervals) -> Belief:
        """The ``belief`` of `to` alone, in less time."""
        return self._drawn(fit_belief(intervals, self.prior))[0]

    def _drawn(self, belief):
        return _drawn(_without_own(belief, self.prior, self.others), self.others)


def lend(intervals: Intervals, groups, lends, wanted) -> Lent:
    """What the series that ``lends`` (S,) marks lend to those ``wanted``, an index array, of
    their groups; a series is never its own lender. Equal labels of ``groups`` (S,) stand for
    the same model, station and item. Raises ValueError when there is not one for each series."""
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


def _drawn(belief, others):
    """The belief with each rate drawn a little towards the others', or theirs where a series has
    none of its own; the share (S,) that is theirs, and which series stand apart (S,)."""
    some = np.flatnonzero(others.count > 0)
    own, bare = belief.take(some), ~belief.known[some]
    shares, apart = np.zeros(len(belief.known)), np.zeros(len(belief.known), bool)
    centre, variance = others.centre[some], others.variance[some]
    apart[some] = ~bare & (_chance_apart(own, others.weight[some], centre, variance) < APART)
    pull, share = _limited(own, *_one_case(others.weight[some], centre, variance))
    kept = (bare | apart[some])[:, None]
    shares[some] = np.where(bare, 1.0, np.where(kept, 0.0, share).sum(axis=1))
    cases = belief.weight.shape[1]
    # A case of its own K times over, or each case of its walk with each of the others' rate.
    all_theirs = bare[:, None, None]
    even = np.full((1, 1, cases), 1 / cases)
    weight = own.weight[:, :, None] * np.where(all_theirs, others.weight[some, None], even)
    rate = (own.rate_um + np.where(kept[..., None], 0.0, pull))[:, :, None]
    rate = np.where(all_theirs[..., None], centre[:, None], rate)
    rate = np.broadcast_to(rate, (*weight.shape, rate.shape[-1]))
    lent = variance[:, None, :, None, None] * np.eye(rate.shape[-1])
    cov = np.where(all_theirs[..., None, None], lent, own.rate_cov_um2[:, :, None])
    cov = np.broadcast_to(cov, (*weight.shape, *cov.shape[-2:]))
    return _with_pairs(belief, some, weight, rate, cov), shares, apart


def _one_case(weight, centre, variance):
    """The cases of the others as one: centre (M, c) and variance (M,)."""
    middle = np.einsum("mk,mkc->mc", weight, centre)
    spread = ((centre - middle[:, None]) ** 2).mean(axis=-1)
    return middle, (weight * (variance + spread)).sum(axis=1)


def _limited(own, centre, variance):
    """How far each case is drawn (M, K, c), and what share of the way that is, weighted (M, K)."""
    away = centre[:, None] - own.rate_um
    unit = np.eye(away.shape[-1])
    both = np.linalg.inv(own.rate_cov_um2 + variance[:, None, None, None] * unit)
    theirs = own.rate_cov_um2 @ both
    pull = np.einsum("mkij,mkj->mki", theirs, away)
    length = np.sqrt(np.maximum(np.einsum("mki,mkij,mkj->mk", pull, both, away), 0.0))
    part = np.minimum(1.0, MOST_DRAWN / np.maximum(length, 1e-300))
    share = np.trace(theirs, axis1=-2, axis2=-1) / len(unit)
    return pull * part[..., None], own.weight * share * part


def _chance_apart(own, weight, centre, variance):
    """Chance (M,) that a machine like the others lies so far from them."""
    away = centre[:, None] - own.rate_um[:, :, None]
    unit = np.eye(away.shape[-1])
    spread = own.rate_cov_um2[:, :, None] + variance[:, None, :, None, None] * unit
    distance = np.einsum("mkji,mkjih,mkjh->mkj", away, np.linalg.inv(spread), away)
    chance = special.chdtrc(away.shape[-1], distance)
    return np.einsum("mk,mj,mkj->m", own.weight, weight, chance)


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
