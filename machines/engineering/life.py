"""How long parts last: a Weibull life fitted to failures and to units still running.

Bounds are profile-likelihood (likelihood-ratio) bounds: they follow the lopsided likelihood that
few failures give, where bounds from the Fisher matrix would look too sure. With fewer than about
five failures even these are somewhat too narrow, and the fit says that it is rough.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import brentq
from scipy.special import gamma, lambertw
from scipy.stats import chi2

from .inputs import between_zero_and_one, positive

# Below this many failures a fitted life is called rough (common practice, no source).
FEW_FAILURES = 5

# The likelihood region is sampled at this many shapes, closest together at its ends where the
# bounds lie, and for each shape at this many scales from edge to edge.
_REGION_SHAPES = 201
_REGION_SCALES = 9

# Longer lives are extrapolated past anything a record can show: over a century of running.
_LONGEST_TOLD_H = 1_000_000


@dataclass(frozen=True)
class WeibullFit:
    """A fitted Weibull life. Hours throughout; bounds are two-sided at ``confidence``.

    ``region`` holds shapes and scales all over the likelihood region, from which bounds of
    anything that depends on both are taken (``bounds_of``).
    """

    shape: float
    scale_h: float
    failures: int
    running: int
    confidence: float
    log_likelihood: float
    region: tuple[np.ndarray, np.ndarray] = field(repr=False, compare=False)

    @property
    def shape_bounds(self) -> tuple[float, float]:
        return self.bounds_of(lambda shape, _: shape)

    @property
    def scale_bounds_h(self) -> tuple[float, float]:
        return self.bounds_of(lambda _, scale: scale)

    @property
    def mean_h(self) -> float:
        return float(mean_life_h(self.shape, self.scale_h))

    @property
    def mean_bounds_h(self) -> tuple[float, float]:
        return self.bounds_of(mean_life_h)

    def age_by_which_h(self, share: float) -> float:
        """Age by which a ``share`` (0 to 1) of units has failed."""
        return float(_quantile(between_zero_and_one(share, "The share"), self.shape, self.scale_h))

    def age_by_which_bounds_h(self, share: float) -> tuple[float, float]:
        share = between_zero_and_one(share, "The share")
        return self.bounds_of(lambda shape, scale: _quantile(share, shape, scale))

    def bounds_of(self, figure: Callable) -> tuple[float, float]:
        """Bounds of ``figure(shape, scale_h)``, a vectorised function of both parameters."""
        values = figure(*self.region)
        return float(np.min(values)), float(np.max(values))

    @property
    def is_rough(self) -> bool:
        return self.failures < FEW_FAILURES

    @property
    def ageing(self) -> str:
        """Whether units wear out, judged by the bounds of the shape and not by its best value."""
        low, high = self.shape_bounds
        if low > 1:
            return "wears out"
        if high < 1:
            return "fails early"
        return "not clear whether it wears out"

    @property
    def sentence(self) -> str:
        low, high = (_hours(bound) for bound in self.mean_bounds_h)
        rough = "; few failures, so only a rough figure" if self.is_rough else ""
        return (
            f"Mean life {_hours(self.mean_h)} h ({100 * self.confidence:.0f} % interval {low} "
            f"to {high} h) from {self.failures} failures and {self.running} still "
            f"running; {self.ageing}{rough}."
        )


def fit_weibull(
    failures_h: Iterable[float], running_h: Iterable[float] = (), confidence: float = 0.90
) -> WeibullFit:
    """Maximum-likelihood Weibull fit of ages at failure and ages of units that have not failed.

    A unit taken out before it failed counts as running at the age it was taken out. ValueError
    for an age of zero or less, fewer than two failures, or failures that all happened at one age
    no unit has passed: the shape has no finite estimate then.
    """
    failed = np.array([positive(age, "An age at failure", "h") for age in failures_h])
    running = np.array([positive(age, "An age of a running unit", "h") for age in running_h])
    confidence = between_zero_and_one(confidence, "The confidence")
    _check_enough(failed, running)
    # Ages as a share of the oldest keep powers of them from overflowing.
    unit = max(failed.max(), running.max(initial=0))
    likelihood = _Likelihood(failed / unit, running / unit)
    shape = likelihood.best_shape()
    shapes, scales = likelihood.region(shape, chi2.ppf(confidence, 1) / 2)
    return WeibullFit(
        shape=shape,
        scale_h=float(likelihood.best_scale(shape) * unit),
        failures=len(failed),
        running=len(running),
        confidence=confidence,
        log_likelihood=float(likelihood.profile(shape) - len(failed) * np.log(unit)),
        region=(shapes, scales * unit),
    )


def mean_life_h(shape, scale_h):
    """Mean of a Weibull life; arrays allowed."""
    return scale_h * gamma(1 + 1 / np.asarray(shape))


def _hours(hours: float) -> str:
    if hours > _LONGEST_TOLD_H:
        return f"over {_LONGEST_TOLD_H:,}"
    return f"{hours:,.0f}"


def _quantile(share, shape, scale):
    return scale * (-np.log1p(-share)) ** (1 / np.asarray(shape))


def _check_enough(failed: np.ndarray, running: np.ndarray) -> None:
    if len(failed) == 0:
        raise ValueError(
            f"None of the {len(running)} units has failed, so there is no life to fit yet."
        )
    if len(failed) == 1:
        raise ValueError("One failure alone gives no life; at least two are needed.")
    if failed.min() == failed.max() and running.max(initial=0) <= failed[0]:
        raise ValueError(
            f"All {len(failed)} failures happened at {failed[0]:g} h; a life needs failures at "
            "different ages or a unit that ran longer."
        )


class _Likelihood:
    """Weibull likelihood of scaled ages (1 is the oldest).

    For a given shape b the scale that fits best is known, (S/r)^(1/b) with S the sum of all ages
    to the power b, so that one unknown is left.
    """

    def __init__(self, failed: np.ndarray, running: np.ndarray):
        self.failures = len(failed)
        self.log_ages = np.log(np.concatenate([failed, running]))
        self.sum_log_failed = np.log(failed).sum()

    def power_sum(self, shape):
        return np.exp(np.multiply.outer(np.asarray(shape, dtype=float), self.log_ages)).sum(-1)

    def best_scale(self, shape):
        return (self.power_sum(shape) / self.failures) ** (1 / np.asarray(shape))

    def profile(self, shape):
        r = self.failures
        rest = r * np.log(r) - r - self.sum_log_failed
        return (
            r * np.log(shape)
            + shape * self.sum_log_failed
            - r * np.log(self.power_sum(shape))
            + rest
        )

    def slope(self, shape: float) -> float:
        """Derivative of the profile over r; falls steadily with the shape."""
        weights = np.exp(shape * self.log_ages)
        weighted = (weights * self.log_ages).sum() / weights.sum()
        return 1 / shape + self.sum_log_failed / self.failures - weighted

    def best_shape(self) -> float:
        low = high = 1.0
        while self.slope(low) < 0:
            low /= 2
        while self.slope(high) > 0:
            high *= 2
        return brentq(self.slope, low, high, xtol=1e-12) if low < high else low

    def region(self, best: float, drop: float) -> tuple[np.ndarray, np.ndarray]:
        """Shapes and scales where the log-likelihood lies at most ``drop`` below its best."""
        floor = self.profile(best) - drop
        low, high = best / 2, best * 2
        while self.profile(low) > floor:
            low /= 2
        while self.profile(high) > floor:
            high *= 2
        lowest = brentq(lambda b: self.profile(b) - floor, low, best, xtol=1e-12)
        highest = brentq(lambda b: self.profile(b) - floor, best, high, xtol=1e-12)
        turn = np.linspace(0, np.pi, _REGION_SHAPES)
        shapes = lowest + (highest - lowest) * (1 - np.cos(turn)) / 2
        return self._fill(shapes, floor)

    def _fill(self, shapes: np.ndarray, floor: float) -> tuple[np.ndarray, np.ndarray]:
        # With u = (best scale / scale)^b the log-likelihood is profile + r(ln u − u + 1), so the
        # edge lies where ln u − u + 1 = −spare.
        spare = np.maximum(self.profile(shapes) - floor, 0) / self.failures
        lowest, highest = np.log(_root(spare, -1)), np.log(_root(spare, 1))
        log_u = np.linspace(lowest, highest, _REGION_SCALES)
        scales = self.best_scale(shapes) * np.exp(-log_u / shapes)
        return np.broadcast_to(shapes, scales.shape), scales


def _root(spare: np.ndarray, side: int) -> np.ndarray:
    """The root u of ln u − u + 1 = −spare below 1 (side −1) or above it (side 1)."""
    # Next to the branch point, where both roots meet at 1, W loses its digits; the series does not.
    close = spare < 1e-8
    branch = 0 if side < 0 else -1
    exact = -lambertw(-np.exp(-1 - np.where(close, 1, spare)), branch).real
    return np.where(close, 1 + side * np.sqrt(2 * spare), exact)
