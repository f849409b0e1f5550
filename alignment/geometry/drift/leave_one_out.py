"""What the other machines of a group say of the walk and the rate, for each machine in turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special

from .fit import WalkPrior
from .posterior import CASES, chi_squared_cases
from .undisturbed import Rows, WalkProfile

FEWEST_OTHERS = 2  # one other machine cannot show how alike machines are
_DOF_GRID = np.array([1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0])
_WALK_STEPS = 32
_LOWEST = 1e-3  # walk tried, as a share of the measurement's spread
_LARGE_GROUP = 200  # machines
_BATCH = 1024  # series whose groups are worked on together, or thereabouts
_CELLS = 2**18  # of a table of lenders and borrowers


def can_borrow(group, tells):
    """Whether enough others of its ``group`` (S,), numbers from 0, tell something: (S,)."""
    return np.bincount(group, weights=tells)[group] - tells >= FEWEST_OTHERS


def walk_of_others(rows, group, lends):
    """What the lending series of its group, but for itself, say of the walk of each series.

    ``rows`` as `independent_rows` gives them; ``group`` (S,): numbers from 0; ``lends`` (S,):
    whether others may borrow from it.
    """
    dof = rows.parts * np.maximum(rows.count - 1, 0)
    tells = lends & (dof > 0)
    enough = can_borrow(group, tells)
    walk, freedom = np.zeros(len(group)), np.zeros(len(group))
    served = np.isin(group, group[enough])
    for some in _whole_groups(group, served & (enough | tells), _BATCH):
        walk[some], freedom[some] = _of_others(rows, dof, some, tells[some], group[some])
    return WalkPrior(walk, np.where(enough, freedom, 0.0))


def _whole_groups(group, among, size):
    """Indices of the series ``among``, each group's together, about ``size`` at a time."""
    some = np.flatnonzero(among)
    some = some[np.argsort(group[some], kind="stable")]
    begins = np.flatnonzero(np.diff(group[some], prepend=-1))
    while some.size:
        after = max(1, np.searchsorted(begins, size, side="right"))
        end = begins[after] if after < len(begins) else len(some)
        yield some[:end]
        some, begins = some[end:], begins[after:] - end


def _of_others(rows, dof, some, telling, group):
    """The walk and its degrees of freedom for the series ``some``, sorted by group."""
    local = np.unique(group, return_inverse=True)[1]
    source, of = some[telling], local[telling]
    begins = np.flatnonzero(np.diff(of, prepend=-1))
    trials = _trial_walks(rows.pick(source), of, begins)
    likelihood = _walk_likelihood(rows.pick(source), dof[source], trials[:, of])
    own = np.zeros((len(some), *likelihood.shape[1:]))
    own[telling] = likelihood
    beforehand = _beforehand(trials)[:, local].T[..., None]
    plausible = _normalised(np.add.reduceat(likelihood, begins, axis=0)[local] - own + beforehand)
    rest = np.bincount(of, weights=dof[source])[local] - np.where(telling, dof[some], 0)
    walk = np.einsum("swf,ws->s", plausible, trials[:, local])
    # The others cannot make the walk known better than their own freedom allows.
    doubt = np.einsum("swf,f->s", plausible, 1 / _DOF_GRID)
    return walk, 1 / (doubt + 1 / np.maximum(rest, 1))


def _beforehand(trials):
    """Log prior (W, G) on the log scale of the ``trials``.

    Half way between one over the walk, which takes a walk that hides in the measurement for none
    and lends too little, and one over walk and measurement together, which lends too much where
    the group is small. The simulations among the tests hold it.
    """
    return np.log(trials / (trials + trials[0] / _LOWEST)) / 2


def _normalised(likelihood):
    """Weights (s, walks, freedoms) of the trials, summing to 1 for each machine."""
    weight = np.exp(likelihood - likelihood.max(axis=(1, 2), keepdims=True))
    return weight / weight.sum(axis=(1, 2), keepdims=True)


def _walk_likelihood(rows, dof, trials):
    """Log likelihood (s, walks, freedoms) of each machine's residuals at the ``trials`` (W, s).

    The restricted likelihood of a multivariate t: all machines wander alike on the average, and
    the freedom says how much they differ.
    """
    total, inverse = WalkProfile(rows).trials(trials)
    padding = len(rows.spread) - rows.count * len(rows.design)
    half = (dof[:, None] + _DOF_GRID) / 2
    constant = special.gammaln(half) - special.gammaln(_DOF_GRID / 2)
    constant = constant - dof[:, None] / 2 * np.log(_DOF_GRID)
    size = np.log(rows.spread + trials[:, None]).sum(axis=1) - padding * np.log(1 + trials)
    size = len(rows.response) * (size - _log_determinant(inverse))
    each = constant[:, None] - size.T[..., None] / 2
    return each - half[:, None] * np.log1p(total.T[..., None] / _DOF_GRID)


def _trial_walks(rows, of, begins):
    """Walks (W, G) from far below the measurement's scatter to beyond the largest change, for each
    group; its series begin at ``begins`` (G,)."""
    real = np.abs(rows.design).sum(axis=0) > 0
    low = _LOWEST * _medians(rows.spread[real], np.broadcast_to(of, real.shape)[real])
    high = 10 * np.maximum.reduceat((rows.response**2).max(axis=(0, 1)), begins)
    return np.geomspace(low, np.maximum(high, 10 * low), _WALK_STEPS)


def _medians(values, group):
    """The median of each group's values."""
    values = values[np.lexsort((values, group))]
    count = np.bincount(group)
    begin = np.cumsum(count) - count
    return (values[begin + (count - 1) // 2] + values[begin + count // 2]) / 2


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


def rates_of_others(rate, cov, group, lends, wanted):
    """What the lending series of their groups say of the rates of those ``wanted``, an index array.

    ``rate`` (S, c) and ``cov`` (S, c, c), NaN where not known. How much machines differ is as
    badly known from a few as a walk is, and treated alike: a further machine's rate is spread
    about the others' mean as a change is about a rate. The rates are the rows, their uncertainty
    is the spread, and the variance between machines takes the place of the walk.
    """
    variance = np.diagonal(cov, axis1=1, axis2=2).mean(axis=1)
    known = lends & np.isfinite(variance) & (variance > 0)
    count = (np.bincount(group, weights=known)[group] - known)[wanted].astype(int)
    count = np.where(count >= FEWEST_OTHERS, count, 0)
    shape = (len(wanted), CASES)
    others = Others(
        np.full(shape, np.nan),
        np.full((*shape, rate.shape[1]), np.nan),
        np.full(shape, np.nan),
        count,
    )
    # In a large group leaving one out changes nothing to speak of, and all share one answer.
    left_out = np.where(count > _LARGE_GROUP, -1, wanted)
    asked = np.stack([group[wanted], left_out], axis=1)[count > 0]
    columns, back = np.unique(asked, axis=0, return_inverse=True)
    answers = [_cases_without(rate, variance, *table) for table in _tables(group, known, columns)]
    if answers:
        cases = (np.concatenate(part) for part in zip(*answers, strict=True))
        for whole, part in zip((others.weight, others.centre, others.variance), cases, strict=True):
            whole[count > 0] = part[back.reshape(-1)]
    return others


def _tables(group, known, columns):
    """The lenders (n, C), -1 for none, and who is left out (C,) for some ``columns`` at a time."""
    lenders = np.flatnonzero(known)
    lenders = lenders[np.argsort(group[lenders], kind="stable")]
    begin = np.searchsorted(group[lenders], columns[:, 0])
    count = np.searchsorted(group[lenders], columns[:, 0], side="right") - begin
    while len(columns):
        most = max(1, _CELLS // int(count.max()))
        along = np.arange(count[:most].max())[:, None]
        place = np.minimum(begin[:most] + along, len(lenders) - 1)
        yield np.where(along < count[:most], lenders[place], -1), columns[:most, 1]
        columns, begin, count = columns[most:], begin[most:], count[most:]


def _cases_without(rate, variance, lenders, left_out):
    """Weight, centre and variance of the cases from each column of ``lenders`` (n, C), but for
    the one that is ``left_out`` (C,)."""
    keep = (lenders >= 0) & (lenders != left_out)
    count = keep.sum(axis=0)
    rows = Rows(
        np.where(keep, variance[lenders], 1.0),
        keep[None].astype(float),
        np.where(keep, np.moveaxis(rate[lenders], -1, 0), 0.0),
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
    return weight.T, centre, spread
