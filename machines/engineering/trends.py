"""Whether incidents come more or less often: three tests for trend, and what they say together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2, norm

from .inputs import between_zero_and_one, not_negative
from .repair_rates import observed_times

# The exact distribution of reverse arrangements is computed up to here, the normal
# approximation beyond; NIST uses the approximation already above 12.
_EXACT_UP_TO = 50

# The sum of so many even chances is told exactly; beyond, terms of its formula cancel.
_EXACT_SUM_UP_TO = 12

# A trend is told that shows this seldom where there is none; each test is asked for a little more,
# since reverse arrangements pass up to 6 in 100 where incidents come in bunches.
FALSE_ALARM = 0.05
_ASKED = 0.04


@dataclass(frozen=True)
class TrendTest:
    """A test for trend: chances of seeing this much if there were none, in each direction."""

    statistic: float
    p_rarer: float
    p_more_often: float
    confidence: float

    @property
    def trend(self) -> str:
        if self.p_rarer <= 1 - self.confidence:
            return "rarer"
        if self.p_more_often <= 1 - self.confidence:
            return "more often"
        return "no clear trend"


@dataclass(frozen=True)
class Trend:
    """What the tests say together of some ``incidents``: direction is 'more often', 'less often'
    or empty, where no trend is to be seen."""

    direction: str
    incidents: int

    @property
    def sentence(self) -> str:
        if not self.direction:
            incidents = "incident" if self.incidents == 1 else "incidents"
            return f"No trend to be seen in {self.incidents} {incidents}."
        return (
            f"They come {self.direction}, by {self.incidents} incidents. Without any trend at most "
            f"{100 * FALSE_ALARM:.0f} machines in 100 show this much."
        )


def trend(incidents_h: Sequence[float], observed_h: float) -> Trend:
    """Whether incidents, observed from 0 to ``observed_h``, come more or less often.

    Told where reverse arrangements show it and Laplace's or the handbook test as well, each with
    4 % one-sided, which keeps ``FALSE_ALARM`` for what comes in bunches too; the handbook test asks
    whether the power law's exponent differs from 1. The last two take incidents to come singly, and
    raise false alarms of bunches; reverse arrangements hardly do. Three incidents or fewer show no
    trend. ValueError for any incident outside the time of observation.
    """
    times, observed = observed_times(incidents_h, observed_h, least=0)
    if len(times) < 3:
        return Trend("", len(times))
    gaps = reverse_arrangements(times)
    others = (handbook_trend(times, observed), laplace_trend(times, observed))
    if gaps.p_rarer <= _ASKED and min(one.p_rarer for one in others) <= _ASKED:
        return Trend("less often", len(times))
    if gaps.p_more_often <= _ASKED and min(one.p_more_often for one in others) <= _ASKED:
        return Trend("more often", len(times))
    return Trend("", len(times))


def laplace_trend(
    incidents_h: Sequence[float], observed_h: float, confidence: float = 0.95
) -> TrendTest:
    """Laplace's test: without trend the shares tᵢ/T of the time observed are even chances, and
    their mean is 1/2 (NIST e-Handbook 8.2.3.4, there with the normal approximation).

    Exact up to 12 incidents, by the distribution of a sum of even chances (Irwin and Hall).
    ``statistic`` is the normal score of the mean. ValueError for no incident or any outside the
    time observed.
    """
    times, observed = observed_times(incidents_h, observed_h, least=1)
    r, total = len(times), float((times / observed).sum())
    score = (total - r / 2) / math.sqrt(r / 12)
    at_most = _even_sum_chance(total, r) if r <= _EXACT_SUM_UP_TO else float(norm.cdf(score))
    return TrendTest(
        statistic=score,
        p_rarer=at_most,
        p_more_often=1 - at_most,
        confidence=between_zero_and_one(confidence, "The confidence"),
    )


def handbook_trend(
    incidents_h: Sequence[float], observed_h: float, confidence: float = 0.95
) -> TrendTest:
    """Military handbook trend test: 2·Σln(T/tᵢ) is chi-square with 2r degrees without trend.

    For observation up to a fixed time (NIST Dataplot, trend test). ValueError for no incident or
    any outside the time observed.
    """
    times, observed = observed_times(incidents_h, observed_h, least=1)
    statistic = float(2 * np.log(observed / times).sum())
    degrees = 2 * len(times)
    return TrendTest(
        statistic=statistic,
        p_rarer=float(chi2.sf(statistic, degrees)),
        p_more_often=float(chi2.cdf(statistic, degrees)),
        confidence=between_zero_and_one(confidence, "The confidence"),
    )


def reverse_arrangements(incidents_h: Sequence[float], confidence: float = 0.95) -> TrendTest:
    """Reverse-arrangement test (NIST e-Handbook 8.2.3.4): pairs of gaps, the later one longer.

    Without trend half of all pairs. Exact up to 50 incidents, normal approximation beyond.
    ValueError for fewer than three incidents, which can show no trend.
    """
    hours = [not_negative(time, "The hours of an incident", "h") for time in incidents_h]
    times = np.sort(np.array(hours, dtype=float))
    if len(times) < 3:
        raise ValueError("A trend in the gaps needs at least three incidents.")
    gaps = np.diff(times, prepend=0)
    count = int(np.triu(gaps[None, :] > gaps[:, None], k=1).sum())
    # Gaps of one length speak for neither side.
    level = int(np.triu(gaps[None, :] == gaps[:, None], k=1).sum())
    return TrendTest(
        statistic=count,
        p_rarer=_arrangement_chances(count, len(gaps))[0],
        p_more_often=_arrangement_chances(count + level, len(gaps))[1],
        confidence=between_zero_and_one(confidence, "The confidence"),
    )


def _even_sum_chance(total: float, count: int) -> float:
    """Chance that ``count`` even chances from 0 to 1 add up to at most ``total``."""
    terms = (
        (-1) ** k * math.comb(count, k) * (total - k) ** count for k in range(math.floor(total) + 1)
    )
    return min(max(math.fsum(terms) / math.factorial(count), 0.0), 1.0)


def _arrangement_chances(count: int, r: int) -> tuple[float, float]:
    """Chance of at least and of at most ``count`` among r gaps in random order."""
    if r > _EXACT_UP_TO:
        mean = r * (r - 1) / 4
        sd = math.sqrt(r * (r - 1) * (2 * r + 5) / 72)
        return float(norm.sf(count - 0.5, mean, sd)), float(norm.cdf(count + 0.5, mean, sd))
    chances = np.ones(1)
    for placed in range(2, r + 1):
        # The gap placed k-th stands above 0 to k−1 of those before it, each as likely.
        chances = np.convolve(chances, np.full(placed, 1 / placed))
    return float(chances[count:].sum()), float(chances[: count + 1].sum())
