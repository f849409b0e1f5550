"""How long parts last: a Weibull life fitted to failures and to units still running.

Bounds and the figures in their middle are Bayesian, under a prior that is stated beside them:
scales alike at every size, shapes about ``PRIOR_SHAPE``. Likelihood-ratio bounds hold 65 in 100 for
two failures where they say 90; how often these hold is in DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammainccinv, gammaln

from .inputs import between_zero_and_one, positive

# The prior of the shape: log-normal about 1.3 with a spread of e, so that two shapes in three lie
# between 0.48 and 3.5 (parts of machines; common practice, no source). Few failures cannot tell
# 0.2 or 20 from these, and bounds that allow for either are of no use to anybody. About 1.3 the
# bounds of parts that fail early or by chance hold as often as those of parts that wear.
PRIOR_SHAPE = 1.3
_PRIOR_LOG_SPREAD = 1.0

# Wear is claimed at this chance: simulated parts that do not wear are then called worn in 1 to 3 of
# 100, and still in fewer than 5 where the record is not quite what the fit takes it for.
SURE = 0.975

# The posterior is told by this many shapes of equal weight, and for each as many scales.
_SHAPES, _SCALES = 128, 48
_GRID = 512
# Shapes with a density below e^-20 of the highest count for nothing.
_LEAST_LOG_DENSITY = 20.0

# Longer lives are extrapolated past anything a record can show: over a century of running.
_LONGEST_TOLD_H = 1_000_000


@dataclass(frozen=True)
class WeibullFit:
    """A fitted Weibull life. Hours throughout; bounds are two-sided at ``confidence``.

    ``shape`` and ``scale_h`` are the most likely ones. ``posterior`` holds shapes and scales of
    equal weight, from which the bounds, the middle and the chance of anything that depends on both
    are taken (``bounds_of``, ``middle_of``, ``chance_of``).
    """

    shape: float
    scale_h: float
    failures: int
    running: int
    confidence: float
    log_likelihood: float
    posterior: tuple[np.ndarray, np.ndarray] = field(repr=False, compare=False)

    @property
    def shape_bounds(self) -> tuple[float, float]:
        return self.bounds_of(lambda shape, _: shape)

    @property
    def scale_bounds_h(self) -> tuple[float, float]:
        return self.bounds_of(lambda _, scale: scale)

    @property
    def mean_bounds_h(self) -> tuple[float, float]:
        return self.bounds_of(mean_life_h)

    def middle_of(self, figure: Callable) -> float:
        """The median of ``figure(shape, scale_h)``: as likely too low as too high. With few
        failures the most likely shape lies far too high, often above its own bounds."""
        return float(np.median(figure(*self.posterior)))

    def bounds_of(self, figure: Callable) -> tuple[float, float]:
        """Bounds of ``figure(shape, scale_h)``, a vectorised function of both parameters."""
        tail = (1 - self.confidence) / 2
        low, high = np.quantile(figure(*self.posterior), [tail, 1 - tail], method="nearest")
        return float(low), float(high)

    def chance_of(self, claim: Callable) -> float:
        """Chance that ``claim(shape, scale_h)``, vectorised and true or false, holds."""
        return float(np.mean(claim(*self.posterior)))

    @property
    def ageing(self) -> str:
        """Whether units wear out: told only where the chance of it is ``SURE``."""
        wears = self.chance_of(lambda shape, _: shape > 1)
        if wears >= SURE:
            return "wears out"
        if wears <= 1 - SURE:
            return "fails early"
        return "not clear whether it wears out"

    @property
    def basis(self) -> str:
        """What the figures rest on: the counts and the prior."""
        return (
            f"from {_counted(self.failures, 'failure')} and {self.running} still running; "
            f"prior: {PRIOR_IN_WORDS}"
        )

    @property
    def sentence(self) -> str:
        middle = _hours(self.middle_of(mean_life_h))
        low, high = (_hours(bound) for bound in self.mean_bounds_h)
        return (
            f"Mean life {middle} h ({100 * self.confidence:.0f} % interval {low} "
            f"to {high} h, {self.basis}); {self.ageing}."
        )


_TWO_IN_THREE = np.exp(np.log(PRIOR_SHAPE) + _PRIOR_LOG_SPREAD * np.array([-1, 1]))
PRIOR_IN_WORDS = "two shapes in three between " + " and ".join(
    f"{shape:.2g}" for shape in _TWO_IN_THREE
)


def fit_weibull(
    failures_h: Iterable[float], running_h: Iterable[float] = (), confidence: float = 0.90
) -> WeibullFit:
    """Weibull fit of ages at failure and ages of units that have not failed.

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
    shapes, scales = likelihood.posterior(shape)
    return WeibullFit(
        shape=shape,
        scale_h=float(likelihood.best_scale(shape) * unit),
        failures=len(failed),
        running=len(running),
        confidence=confidence,
        log_likelihood=float(likelihood.profile(shape) - len(failed) * np.log(unit)),
        posterior=(shapes, scales * unit),
    )


def mean_life_h(shape, scale_h):
    """Mean of a Weibull life; arrays allowed. inf where it is beyond all numbers."""
    with np.errstate(over="ignore"):
        return np.exp(np.log(scale_h) + gammaln(1 + 1 / np.asarray(shape)))


def _hours(hours: float) -> str:
    if hours > _LONGEST_TOLD_H:
        return f"over {_LONGEST_TOLD_H:,}"
    return f"{hours:,.0f}"


def _counted(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _check_enough(failed: np.ndarray, running: np.ndarray) -> None:
    if len(failed) == 0:
        units = (
            "The one unit has not" if len(running) == 1 else f"None of the {len(running)} units has"
        )
        raise ValueError(f"{units} failed, so there is no life to fit yet.")
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

    def posterior(self, best: float) -> tuple[np.ndarray, np.ndarray]:
        """Shapes and scales of equal weight, (shapes, scales) each."""
        log_shapes = self._log_shapes(best)
        log_density = self.log_density(log_shapes)
        weights = np.exp(log_density - log_density.max())
        shares = np.cumsum(weights) - weights / 2
        shapes = np.exp(np.interp(_middles(_SHAPES) * weights.sum(), shares, log_shapes))
        # With the shape b known, S/scale^b is gamma with r: a record that ends at a day and not
        # at a failure makes that r to r + 1 (as in the bounds of an MTBF), so half a failure more.
        hazards = gammainccinv(self.failures + 0.5, _middles(_SCALES))[:, None]
        scales = (self.power_sum(shapes) / hazards) ** (1 / shapes)
        return np.broadcast_to(shapes, scales.shape), scales

    def log_density(self, log_shapes: np.ndarray) -> np.ndarray:
        """Log of the posterior density of ln(shape), the scale being integrated out.

        The prior is 1/scale times a normal of ln(shape): over the scale the likelihood comes to
        Γ(r)/(b S^r), which leaves its profile less one ln(b).
        """
        from_prior = (log_shapes - np.log(PRIOR_SHAPE)) / _PRIOR_LOG_SPREAD
        return self.profile(np.exp(log_shapes)) - log_shapes - from_prior**2 / 2

    def _log_shapes(self, best: float) -> np.ndarray:
        """Evenly spaced ln(shape) over all that counts."""
        low, high = sorted([np.log(best), np.log(PRIOR_SHAPE)])
        floor = self.log_density(np.linspace(low, high, _GRID)).max() - _LEAST_LOG_DENSITY
        while self.log_density(low) > floor:
            low -= 0.25
        while self.log_density(high) > floor:
            high += 0.25
        return np.linspace(low, high, _GRID)


def _middles(count: int) -> np.ndarray:
    """The middles of ``count`` equal parts of 0 to 1."""
    return (np.arange(count) + 0.5) / count
