"""How often a machine has incidents: MTBF, and the power law where that changes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.stats import chi2, norm

from .inputs import between_zero_and_one, positive, whole

# Critical values of the Cramér–von Mises statistic of a fitted power law at 5 %, by the number of
# incidents: the table of MIL-HDBK-189, as quoted in public program text. In between it is read by
# the straight line.
_MISES_COUNTS = (2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 15, 16, 17, 30, 60, 100)
_MISES_5_PERCENT = (
    *(0.175, 0.184, 0.191, 0.199, 0.204, 0.208, 0.210, 0.212, 0.212, 0.214),
    *(0.215, 0.216, 0.217, 0.218, 0.220, 0.220),
)

# An expected count below this is joined with its neighbour before chi-square is asked (common
# practice, no source).
_LEAST_EXPECTED = 5

# Exponents beyond these are told from no record.
_EXPONENTS = (1e-3, 1e3)


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

    An exponent b below 1 means that incidents become rarer, above 1 more frequent.
    ``exponent_low`` and ``exponent_high`` bound it, ``low_h`` and ``high_h`` the MTBF. ``fits`` is
    False where the record is none of a power law, by a test with 5 % false alarms.
    """

    exponent: float
    exponent_low: float
    exponent_high: float
    factor: float
    mtbf_h: float
    low_h: float
    high_h: float
    fits: bool
    confidence: float

    @property
    def sentence(self) -> str:
        if not self.fits:
            return "They follow no power law, so how often they come today is not told."
        high = f"{self.high_h:,.0f} h" if math.isfinite(self.high_h) else "no upper bound"
        return (
            f"Now one in {self.mtbf_h:,.0f} h ({100 * self.confidence:.0f} % interval "
            f"{self.low_h:,.0f} to {high}; power law, exponent {self.exponent:.2f}, "
            f"{self.exponent_low:.2f} to {self.exponent_high:.2f})."
        )


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
    plain maximum likelihood with few incidents. The exponent's bounds are exact: 2·b·Σln(T/tᵢ) is
    chi-square with 2r degrees. ValueError for fewer than two incidents, or any outside the time of
    observation.
    """
    times, observed = observed_times(incidents_h, observed_h, least=2)
    confidence = between_zero_and_one(confidence, "The confidence")
    r = len(times)
    spread = np.log(observed / times).sum()
    if spread == 0:
        raise ValueError("All incidents lie at the end of the time observed; no rate can be told.")
    exponent = (r - 1) / spread
    tails = np.array([1 - confidence, 1 + confidence]) / 2
    low, high = chi2.ppf(tails, 2 * r) / (2 * spread)
    return PowerLaw(
        exponent=float(exponent),
        exponent_low=float(low),
        exponent_high=float(high),
        factor=float(np.exp(np.log(r) - exponent * np.log(observed))),
        **_mtbf_now(observed / (r * exponent), r, confidence),
        fits=mises_statistic(times, observed) <= mises_limit(r),
        confidence=confidence,
    )


def grouped_power_law(
    ends_h: Sequence[float], counts: Sequence[int], confidence: float = 0.80
) -> PowerLaw:
    """Power-law process through ``counts`` of incidents, each up to one of ``ends_h``, rising; the
    first group begins at 0.

    Maximum likelihood (MIL-HDBK-189, grouped data); the exponent's bounds by the likelihood ratio.
    ValueError for fewer than two incidents, ends that do not rise, or all incidents in the last
    group, which shows no finite exponent.
    """
    ends = np.array([positive(end, "The end of a group", "h") for end in ends_h])
    found = np.array([whole(count, "The number of incidents", 0) for count in counts])
    confidence = between_zero_and_one(confidence, "The confidence")
    _check_groups(ends, found)
    groups = _Groups(ends / ends[-1], found)
    r, exponent = int(found.sum()), groups.best()
    low, high = groups.bounds(exponent, chi2.ppf(confidence, 1) / 2)
    return PowerLaw(
        exponent=exponent,
        exponent_low=low,
        exponent_high=high,
        factor=float(np.exp(np.log(r) - exponent * np.log(ends[-1]))),
        **_mtbf_now(ends[-1] / (r * exponent), r, confidence),
        fits=groups.chance_of_worse(exponent) > 0.05,
        confidence=confidence,
    )


def mises_statistic(times: np.ndarray, observed_h: float) -> float:
    """Cramér–von Mises distance of incidents, shape (r,), rising, from their fitted power law:
    1/(12r) + Σ((tᵢ/T)^b − (2i−1)/(2r))², with the modified b (MIL-HDBK-189)."""
    r = len(times)
    exponent = (r - 1) / np.log(observed_h / times).sum()
    wanted = (2 * np.arange(1, r + 1) - 1) / (2 * r)
    return float(1 / (12 * r) + (((times / observed_h) ** exponent - wanted) ** 2).sum())


def mises_limit(incidents: int) -> float:
    """What ``mises_statistic`` exceeds in 5 of 100 true power laws."""
    return float(np.interp(incidents, _MISES_COUNTS, _MISES_5_PERCENT))


def observed_times(incidents_h, observed_h, least: int) -> tuple[np.ndarray, float]:
    """Incidents in order, shape (r,), and the hours observed; ValueError as their callers say."""
    observed = positive(observed_h, "The time observed", "h")
    hours = [positive(time, "The hours of an incident", "h") for time in incidents_h]
    times = np.sort(np.array(hours, dtype=float))
    if len(times) < least:
        incidents = "incident is" if least == 1 else "incidents are"
        raise ValueError(f"At least {least} {incidents} needed, not {len(times)}.")
    if len(times) and times[-1] > observed:
        raise ValueError(
            f"An incident at {times[-1]:g} h lies after the end of observation, {observed:g} h."
        )
    return times, observed


def _mtbf_now(now_h: float, r: int, confidence: float) -> dict[str, float]:
    """The MTBF at the end with its bounds (NIST e-Handbook 8.4.5.2)."""
    z = norm.ppf((1 + confidence) / 2)
    narrowest = r - z * math.sqrt(r / 2)
    root = math.sqrt(r * z**2 / 2 + z**4 / 16)
    return {
        "mtbf_h": float(now_h),
        "low_h": float(now_h * r * (r - 1) / (r + z**2 / 4 + root) ** 2),
        # Too few incidents for this confidence leave the upper side open.
        "high_h": float(now_h * r * (r - 1) / narrowest**2) if narrowest > 0 else math.inf,
    }


def _check_groups(ends: np.ndarray, counts: np.ndarray) -> None:
    if len(ends) != len(counts) or len(ends) < 2:
        raise ValueError(
            f"Two groups or more are needed, each with its count, not {len(ends)} ends and "
            f"{len(counts)} counts."
        )
    if (np.diff(ends) <= 0).any():
        raise ValueError("The ends of the groups must rise.")
    if counts.sum() < 2:
        raise ValueError(f"At least 2 incidents are needed, not {counts.sum()}.")
    if not counts[:-1].any() or not counts[1:].any():
        raise ValueError("All incidents lie in one group at an end; no rate can be told.")


class _Groups:
    """Likelihood of counts in groups that end at shares of the whole time, for each exponent."""

    def __init__(self, ends: np.ndarray, counts: np.ndarray):
        self.edges, self.counts = np.concatenate([[0.0], ends]), counts

    def shares(self, exponent: float) -> np.ndarray:
        """The share of all incidents that is expected in each group."""
        return np.diff(self.edges**exponent)

    def log_likelihood(self, exponent: float) -> float:
        held = self.counts > 0
        with np.errstate(divide="ignore"):
            return float((self.counts[held] * np.log(self.shares(exponent)[held])).sum())

    def best(self) -> float:
        low, high = np.log(_EXPONENTS)
        for _ in range(100):
            third = (high - low) / 3
            inner = low + third, high - third
            lower, upper = (self.log_likelihood(np.exp(at)) for at in inner)
            low, high = (inner[0], high) if lower < upper else (low, inner[1])
        return float(np.exp((low + high) / 2))

    def bounds(self, best: float, drop: float) -> tuple[float, float]:
        floor = self.log_likelihood(best) - drop

        def over(log_exponent):
            return max(self.log_likelihood(np.exp(log_exponent)) - floor, -1e6)

        edges = zip(np.log(_EXPONENTS), (np.log(best),) * 2, strict=True)
        low, high = (
            end if over(end) > 0 else brentq(over, *sorted([end, middle])) for end, middle in edges
        )
        return float(np.exp(low)), float(np.exp(high))

    def chance_of_worse(self, exponent: float) -> float:
        """Chance of counts further from the expected ones, by chi-square; 1 where too few."""
        expected, found = [], []
        for share, count in zip(self.shares(exponent), self.counts, strict=True):
            if expected and expected[-1] < _LEAST_EXPECTED:
                expected[-1] += share * self.counts.sum()
                found[-1] += count
            else:
                expected.append(share * self.counts.sum())
                found.append(count)
        if len(expected) < 3:
            return 1.0
        expected, found = np.array(expected), np.array(found)
        return float(chi2.sf(((found - expected) ** 2 / expected).sum(), len(expected) - 2))
