"""How often a machine has incidents, and whether they come more often: MTBF, power law, trend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2, norm

from .inputs import between_zero_and_one, not_negative, positive, whole

# The exact distribution of reverse arrangements is computed up to here, the normal
# approximation beyond; NIST uses the approximation already above 12.
_EXACT_UP_TO = 50


@dataclass(frozen=True)
class Mtbf:
    """Mean hours between failures at a constant rate. No failure yet: ``mtbf_h`` is None,
    ``low_h`` a one-sided bound and ``high_h`` inf."""

    failures: int
    total_h: float
    mtbf_h: float | None
    low_h: float
    high_h: float
    confidence: float

    @property
    def sentence(self) -> str:
        sure = f"{100 * self.confidence:.0f} %"
        if self.mtbf_h is None:
            return f"No failure in {self.total_h:,.0f} h: at least {self.low_h:,.0f} h ({sure})."
        return (
            f"One failure in {self.mtbf_h:,.0f} h ({sure} interval {self.low_h:,.0f} to "
            f"{self.high_h:,.0f} h; {self.failures} in {self.total_h:,.0f} h)."
        )


@dataclass(frozen=True)
class PowerLaw:
    """Incidents as a power-law process, N(t) = a·t^b; ``mtbf_h`` is as of the end.

    An exponent below 1 means that incidents become rarer, above 1 more frequent.
    """

    exponent: float
    factor: float
    mtbf_h: float
    low_h: float
    high_h: float
    confidence: float


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


def mtbf(total_h: float, failures: int, confidence: float = 0.90) -> Mtbf:
    """MTBF over ``total_h`` running hours with chi-square bounds (NIST e-Handbook 8.4.5.1).

    Exact for a fixed time of observation. With no failure only a lower bound T/(−ln α) exists.
    ValueError for zero hours or a negative count.
    """
    total = positive(total_h, "The running time", "h")
    failures = whole(failures, "The number of failures", 0)
    alpha = 1 - between_zero_and_one(confidence, "The confidence")
    if failures == 0:
        return Mtbf(0, total, None, total / -math.log(alpha), math.inf, confidence)
    return Mtbf(
        failures=failures,
        total_h=total,
        mtbf_h=total / failures,
        low_h=float(2 * total / chi2.ppf(1 - alpha / 2, 2 * (failures + 1))),
        high_h=float(2 * total / chi2.ppf(alpha / 2, 2 * failures)),
        confidence=confidence,
    )


def power_law(
    incidents_h: Sequence[float], observed_h: float, confidence: float = 0.80
) -> PowerLaw:
    """Power-law process through the hours of incidents, observed from 0 to ``observed_h``.

    Modified estimator with r−1 (NIST e-Handbook 8.4.5.2), which takes out most of the bias of
    plain maximum likelihood with few incidents. ValueError for fewer than two incidents, or any
    outside the time of observation.
    """
    times, observed = _observed(incidents_h, observed_h, least=2)
    z = norm.ppf((1 + between_zero_and_one(confidence, "The confidence")) / 2)
    r = len(times)
    spread = np.log(observed / times).sum()
    if spread == 0:
        raise ValueError("All incidents lie at the end of the time observed; no rate can be told.")
    exponent = (r - 1) / spread
    now = observed / (r * exponent)
    narrowest = r - z * math.sqrt(r / 2)
    root = math.sqrt(r * z**2 / 2 + z**4 / 16)
    return PowerLaw(
        exponent=float(exponent),
        factor=float(r / observed**exponent),
        mtbf_h=float(now),
        low_h=float(now * r * (r - 1) / (r + z**2 / 4 + root) ** 2),
        # Too few incidents for this confidence leave the upper side open.
        high_h=float(now * r * (r - 1) / narrowest**2) if narrowest > 0 else math.inf,
        confidence=confidence,
    )


def handbook_trend(
    incidents_h: Sequence[float], observed_h: float, confidence: float = 0.95
) -> TrendTest:
    """Military handbook trend test: 2·Σln(T/tᵢ) is chi-square with 2r degrees without trend.

    For observation up to a fixed time (NIST Dataplot, trend test). ValueError for no incident or
    any outside the time observed.
    """
    times, observed = _observed(incidents_h, observed_h, least=1)
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
    at_least, at_most = _arrangement_chances(count, len(gaps))
    return TrendTest(
        statistic=count,
        p_rarer=at_least,
        p_more_often=at_most,
        confidence=between_zero_and_one(confidence, "The confidence"),
    )


def _observed(incidents_h, observed_h, least: int) -> tuple[np.ndarray, float]:
    observed = positive(observed_h, "The time observed", "h")
    hours = [positive(time, "The hours of an incident", "h") for time in incidents_h]
    times = np.sort(np.array(hours, dtype=float))
    if len(times) < least:
        incidents = "incident is" if least == 1 else "incidents are"
        raise ValueError(f"At least {least} {incidents} needed, not {len(times)}.")
    if times[-1] > observed:
        raise ValueError(
            f"An incident at {times[-1]:g} h lies after the end of observation, {observed:g} h."
        )
    return times, observed


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
