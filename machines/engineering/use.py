"""How much a meter counts in a day, told from what it counted between readings.

What a machine runs on one day adds to the total for ever, so the errors of a total add up and its
readings do not scatter about a line: only the increments are independent. Of these the mean and
the spread are taken, and days to come spread as those did (a compound process).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.optimize import nnls
from scipy.stats import t as student

# Which kind of day a weekday is: working days, Saturday, Sunday. The first of January 1970 was a
# Thursday. A day on which the shop is closed counts as a Sunday.
_KINDS = np.array([0, 0, 0, 0, 0, 1, 2])
_SUNDAY = 2
_THURSDAY = 3

# The kinds of day are told apart from at least this many increments whose days differ enough.
_ENOUGH_INCREMENTS = 25
_WORST_CONDITION = 30.0

# Increments are joined to four weeks, where that leaves at least two, else to one: the days of the
# week and a job that keeps a machine busy or idle for days then stay within one.
_JOINED_DAYS = (27.5, 6.5)


@dataclass(frozen=True)
class Week:
    """How much a working day, a Saturday and a Sunday count, a day of the average week counting
    one. ``offset`` is the shop's clock before UTC in days; ``closed`` are days since 1970."""

    weights: tuple[float, float, float] = (1.0, 1.0, 1.0)
    offset: float = 0.0
    closed: frozenset[int] = frozenset()

    @property
    def is_even(self) -> bool:
        """Whether every day counts the same, closed or not."""
        return min(self.weights) == max(self.weights)

    def counted(self, days: np.ndarray) -> np.ndarray:
        """Days since 1970 in UTC, shape (n,), as days counted; rising as they do."""
        if self.is_even:
            return days
        edges = np.arange(math.floor(days[0] + self.offset), math.ceil(days[-1] + self.offset) + 1)
        return np.interp(days + self.offset, edges, self._summed(edges))

    def after(self, start: float, counted: float) -> float:
        """When so many days have been counted since ``start``, in days since 1970 in UTC."""
        if self.is_even:
            return start + counted
        first = math.floor(start + self.offset)
        edges = first + np.arange(math.ceil(counted) + len(self.closed) + 16)
        summed = self._summed(edges)
        target = np.interp(start + self.offset, edges, summed) + counted
        day = int(np.searchsorted(summed, target))
        into = (target - summed[day - 1]) / (summed[day] - summed[day - 1]) if day else 0.0
        return float(edges[0] + max(day - 1 + into, 0)) - self.offset

    def _summed(self, edges: np.ndarray) -> np.ndarray:
        weights = np.array(self.weights)[self.kinds(edges[:-1])]
        return np.concatenate([[0.0], np.cumsum(weights)])

    def kinds(self, days: np.ndarray) -> np.ndarray:
        kinds = _KINDS[(days + _THURSDAY) % 7]
        if self.closed:
            kinds[np.isin(days, list(self.closed))] = _SUNDAY
        return kinds


@dataclass(frozen=True)
class Use:
    """Use per day counted, from ``increments`` over ``counted`` days of the ``week``.

    ``variance`` is that of one day's use; ``factor`` the t factor of the confidence. Both are None
    with one increment, which shows a rate but not how steady it is.
    """

    per_day: float
    variance: float | None
    factor: float | None
    counted: float
    increments: int
    week: Week

    @property
    def low(self) -> float | None:
        """The lower bound of the mean use per day."""
        return None if self.variance is None else max(self.per_day - self._half, 0.0)

    @property
    def high(self) -> float | None:
        return None if self.variance is None else self.per_day + self._half

    @property
    def _half(self) -> float:
        return self.factor * math.sqrt(self.variance / self.counted)

    def between(self, start: float, end: float) -> float:
        """The likely use from one moment to another, in days since 1970 in UTC."""
        first, last = self.week.counted(np.array([start, max(start, end)]))
        return self.per_day * float(last - first)

    def days_until(self, left: float) -> tuple[float, float | None, float | None]:
        """(likely, least, most) days counted until ``left`` more is used; inf for never.

        In D days the use is D times the mean, give or take factor·√(variance·(D + D²/counted)):
        the spread of those days and what is not known of the mean. Solved for D.
        """
        likely = left / self.per_day if self.per_day > 0 else math.inf
        if self.variance is None:
            return likely, None, None
        spread = self.factor**2 * self.variance
        square = self.per_day**2 - spread / self.counted
        linear = 2 * self.per_day * left + spread
        root = math.sqrt(max(linear**2 - 4 * square * left**2, 0.0))
        least = 2 * left**2 / (linear + root) if linear + root > 0 else math.inf
        most = (linear + root) / (2 * square) if square > 0 else math.inf
        return likely, least, most


def use_of(
    days: np.ndarray, totals: np.ndarray, confidence: float, closed=frozenset(), offset: float = 0.0
) -> Use:
    """The `Use` shown by totals, shape (n,), on ``days`` since 1970 in UTC, shape (n,), rising.

    ValueError for fewer than two readings.
    """
    if len(days) < 2:
        raise ValueError("Use is told from two readings or more.")
    week = _week(days, totals, Week(offset=offset, closed=closed))
    counted = week.counted(days)
    chosen = _joined(counted)
    spans, steps = np.diff(counted[chosen]), np.diff(totals[chosen])
    whole, used = float(spans.sum()), float(steps.sum())
    per_day, freedom = used / whole, len(spans) - 1
    if not freedom:
        return Use(per_day, None, None, whole, 1, week)
    variance = float(((steps - per_day * spans) ** 2 / spans).sum() / freedom)
    return Use(per_day, variance, _factor(confidence, freedom), whole, len(spans), week)


def _joined(counted: np.ndarray) -> np.ndarray:
    """Which readings bound the increments; the first and the last always do."""
    for least in _JOINED_DAYS:
        chosen = [0]
        for index, at in enumerate(counted):
            if at - counted[chosen[-1]] >= least:
                chosen.append(index)
        if len(chosen) > 2:
            return np.array([*chosen[:-1], len(counted) - 1])
    # Days that count nothing bear no increment of their own.
    return np.flatnonzero(np.diff(counted, prepend=-np.inf) > 0)


@lru_cache
def _factor(confidence: float, freedom: int) -> float:
    return float(student.ppf((1 + confidence) / 2, freedom))


def _week(days: np.ndarray, totals: np.ndarray, even: Week) -> Week:
    """What each kind of day counts, by non-negative least squares; ``even`` where it does not
    show."""
    if len(days) <= _ENOUGH_INCREMENTS:
        return even
    spans = np.diff(days)
    held = np.diff(_days_of_kinds(days, even), axis=0) / np.sqrt(spans)[:, None]
    if np.linalg.cond(held) > _WORST_CONDITION:
        return even
    weights, _ = nnls(held, np.diff(totals) / np.sqrt(spans))
    average = (5 * weights[0] + weights[1] + weights[2]) / 7
    if average <= 0:
        return even
    return Week(tuple((weights / average).tolist()), even.offset, even.closed)


def _days_of_kinds(days: np.ndarray, week: Week) -> np.ndarray:
    """Days of each kind before each moment, shape (n, 3)."""
    local = days + week.offset
    edges = np.arange(math.floor(local[0]), math.ceil(local[-1]) + 1)
    of_kind = np.eye(3)[week.kinds(edges[:-1])]
    summed = np.concatenate([np.zeros((1, 3)), np.cumsum(of_kind, axis=0)])
    return np.stack([np.interp(local, edges, column) for column in summed.T], axis=1)
