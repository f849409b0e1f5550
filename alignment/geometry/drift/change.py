"""Was it more than wear? Control charts, and what to say of the last change.

The chart is that of the NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3: CUSUM. It runs
along the last axis, many series at once; a value that is NaN was not measured and leaves the chart
where it stood.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import special

from .fit import WalkPrior, fit_belief
from .intervals import Intervals
from .posterior import Belief
from .steps import step_cases

# Chance of calling mere wear unusual: one false alarm in a hundred visits.
FALSE_ALARM = 0.01
# In standard deviations: the slack and the decision limit usual for a CUSUM (common practice;
# NIST's own example is checked with the figures NIST gives).
SLACK, DECISION = 0.5, 4.0
# Moves that the chart of growing drift covers, and those before them that it learns from: sixty
# moves on, a sum has long fallen to nought or given the alarm.
CHARTED, LEARNT_FROM = 60, 60
_CELLS = 2**19  # intervals worked on together

_VERDICTS = {  # (unusual, an incident was logged)
    (True, True): "the logged incident is the likely reason",
    (True, False): "look for an unlogged bump",
    (False, True): "the logged incident left no mark beyond what wear and wandering can do",
    (False, False): "no more than wear and wandering can do",
}


@dataclass(frozen=True)
class Cusum:
    """A chart of n values: sums upward and downward ``high`` and ``low`` (..., n), ``alarm``."""

    high: np.ndarray
    low: np.ndarray
    alarm: np.ndarray


def cusum(values, target: float, *, slack: float = SLACK, decision: float = DECISION) -> Cusum:
    """Tabular CUSUM of ``values`` (..., n) about ``target``, both sums started at 0.

    ``slack``: what a value may be off without counting; ``decision``: the sum that raises an
    alarm; both in the unit of the values. Raises ValueError when either is not positive.
    """
    if not (slack > 0 and decision > 0):
        raise ValueError("The slack and the decision limit must be more than 0.")
    values = np.asarray(values, float)
    sums = np.zeros((2, *values.shape))
    now = np.zeros((2, *values.shape[:-1]))
    for i in range(values.shape[-1]):
        off = values[..., i] - target
        ahead = np.maximum(0.0, now + np.stack([off, -off]) - slack)
        now = np.where(np.isnan(off), now, ahead)
        sums[..., i] = now
    return Cusum(sums[0], sums[1], (sums > decision).any(axis=0))


@dataclass(frozen=True)
class Change:
    """The last usable interval of S series with c parts, held against wear; NaN if not known.

    ``moved_um`` (S, c); ``beyond_um`` (S, c), what wear does not explain; ``chance`` (S,) that
    wear, wandering and measurement make it move so far beyond; ``unusual`` and ``incident`` (S,).
    """

    moved_um: np.ndarray
    beyond_um: np.ndarray
    chance: np.ndarray
    unusual: np.ndarray
    incident: np.ndarray

    def sentence(
        self, series: int, since: str, *, unit="µm", show: Callable[[float], str] | None = None
    ) -> str:
        """One series in a plain sentence.

        ``since`` is the day of the as left, as the reader writes days; ``show`` turns µm into the
        figure printed before ``unit``.
        """
        moved, beyond = self.moved_um[series], self.beyond_um[series]
        size = float(np.linalg.norm(moved))
        if np.isnan(size):
            return "no as left and as found to compare yet"
        show = show or _figure(size)
        start = f"moved {show(size)} {unit} since {since}"
        if np.isnan(self.chance[series]):
            return f"{start}; too few visits to say what wear explains"
        along = float((moved - beyond) @ moved) / size if size else 0.0
        worn = show(max(along, 0.0))
        if worn == show(0.0):
            worn = "none of it"
        elif along >= size:
            worn = "all of it"
        return f"{start}, wear explains {worn}: {self._verdict(series)}"

    def _verdict(self, series):
        return _VERDICTS[bool(self.unusual[series]), bool(self.incident[series])]


def explain_change(
    intervals: Intervals,
    *,
    belief: Belief | None = None,
    walk: WalkPrior | None = None,
    false_alarm: float = FALSE_ALARM,
) -> Change:
    """Hold the last usable interval of each series against what the others lead one to expect.

    ``belief`` is what is believed of the drift without that interval, such as one borrowed from
    other machines; left out, it is fitted to the earlier intervals, with ``walk`` if given.
    """
    last = last_usable(intervals)
    if belief is None:
        belief = fit_belief(intervals.select(~last), walk)
    moved = np.full(intervals.change_um.shape[::2], np.nan)
    beyond, chance = moved.copy(), np.full(len(moved), np.nan)
    incident = (last & intervals.incident).any(axis=1)
    at = np.nonzero(last)
    moved[at[0]] = intervals.change_um[at]
    if at[0].size:
        centre, deviation = step_cases(intervals, at, belief)
        weight = belief.weight[at[0]]
        beyond[at[0]] = (weight[..., None] * centre).sum(axis=1)
        chance[at[0]] = (weight * _chance_beyond(centre / _above_nought(deviation))).sum(axis=1)
    unusual = np.nan_to_num(chance, nan=1.0) < false_alarm
    return Change(moved, beyond, chance, unusual, incident)


def surprises(intervals: Intervals, walk: WalkPrior | None = None, newest=None) -> np.ndarray:
    """Each interval against the ones before it, as normal scores (S, n, c), for the charts.

    NaN for an interval that holds an incident, cannot be used, or has too few before it. Fed to
    ``cusum`` with target 0 and deviation 1. ``newest``: how many places at the end
    are worked out; left out, all are.
    """
    scores = np.full(intervals.change_um.shape, np.nan)
    first = 1 if newest is None else max(1, scores.shape[1] - newest)
    series, place = np.nonzero(intervals.undisturbed[:, first:])
    place += first
    most = max(1, _CELLS // max(scores.shape[1], 1))
    for begin in range(0, len(series), most):
        some = slice(begin, begin + most)
        scores[series[some], place[some]] = _surprise(intervals, series[some], place[some], walk)
    return scores


def _surprise(intervals, series, place, walk):
    """Scores (M, c) of the interval at ``place`` in each of M ``series``."""
    along = np.arange(intervals.elapsed.shape[1])
    known = intervals.take(series)
    known = known.select(along <= place[:, None])
    if walk is not None:
        size = intervals.series
        walk = WalkPrior(
            *(np.broadcast_to(part, size)[series] for part in (walk.variance_um2, walk.dof))
        )
    belief = fit_belief(known.select(along < place[:, None]), walk)
    centre, deviation = step_cases(known, (np.arange(len(place)), place), belief)
    below = special.ndtr(centre / _above_nought(deviation))
    below = (belief.weight[:, :, None] * below).sum(axis=1)
    return special.ndtri(np.clip(below, 1e-12, 1 - 1e-12))


def has_grown(intervals: Intervals) -> np.ndarray:
    """(S,): whether the latest moves, taken together, have left what went before, by a CUSUM.

    Of a long history the chart covers the latest moves alone, and holds each against no more
    before it than say where it was heading.
    """
    count = intervals.present.sum(axis=1)
    first = np.maximum(count - CHARTED - LEARNT_FROM, 0)
    scores = surprises(intervals.cut(np.arange(len(count)), first, count - first), newest=CHARTED)
    if not scores.shape[1]:
        return np.zeros(len(count), bool)
    return cusum(np.moveaxis(scores, 1, -1), 0.0).alarm[..., -1].any(axis=-1)


def last_usable(intervals: Intervals) -> np.ndarray:
    """(S, n): the last interval of each series that can be used."""
    usable = intervals.usable
    return usable & (np.cumsum(usable[:, ::-1], axis=1)[:, ::-1] == 1)


def _chance_beyond(score):
    """Chance (M, K) of being so far off in one part, or in two independent ones."""
    if score.shape[-1] == 1:
        return 2 * special.ndtr(-np.abs(score[..., 0]))
    return np.exp(-(score**2).sum(axis=-1) / 2)


def _above_nought(deviation):
    return np.maximum(deviation, 1e-150)


def _figure(size):
    """Whole µm from 10 up, one place below."""
    return "{:.0f}".format if size >= 10 else "{:.1f}".format
