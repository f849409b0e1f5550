"""At what age a part is best replaced, when a planned replacement is cheaper than a breakdown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gamma, gammainc

from .inputs import positive
from .life import SURE, WeibullFit, mean_life_h

# An age that fewer than 1 in 100 units reach is running to failure by another name.
_HARDLY_REACHED = 0.01
_HALVINGS = 60


@dataclass(frozen=True)
class ReplacementAge:
    """The age in hours at which replacing costs least per hour, and what that saves.

    ``age_h`` is None until the record shows with the chance ``life.SURE`` that replacing at the
    cheapest age saves anything. ``saving`` is what it would save by the fitted life, relative to
    running to failure, ``saving_bounds`` the same over its posterior; ``chance`` is that of any.
    """

    age_h: float | None
    saving: float
    saving_bounds: tuple[float, float]
    chance: float
    fit: WeibullFit

    @property
    def sentence(self) -> str:
        if self.age_h is None:
            return (
                "No replacement age yet: these records do not show that replacing before failure "
                f"saves anything (chance {100 * self.chance:.0f} %, {100 * SURE:g} % wanted; "
                f"{self.fit.basis}). Until then look at it, and run it to failure where that is "
                "safe."
            )
        low, high = (f"{100 * bound:.0f}".replace("-", "−") for bound in self.saving_bounds)
        return (
            f"Replace at {self.age_h:,.0f} h: costs {100 * self.saving:.0f} % less than running "
            f"to failure ({100 * self.fit.confidence:.0f} % interval {low} to {high} %, "
            f"{self.fit.basis})."
        )


@dataclass(frozen=True)
class RenewalInterval:
    """Hours between renewals when failures in between are only mended; None: never renew."""

    interval_h: float | None
    cost_per_h: float | None


def age_cost_per_h(age_h, shape, scale_h, planned_cost: float, breakdown_cost: float):
    """Long-run cost per hour of replacing at ``age_h`` or at failure, whichever is first.

    Renewal reward: (cp·R + cf·F) / ∫R from 0 to the age, with the integral of a Weibull R as an
    incomplete gamma function. ``age_h``, ``shape`` and ``scale_h`` may be arrays. Costs in any
    one currency. ValueError for a cost of zero or less.
    """
    planned = positive(planned_cost, "The planned cost")
    breakdown = positive(breakdown_cost, "The breakdown cost")
    hazard = (np.asarray(age_h, dtype=float) / scale_h) ** shape
    failed = -np.expm1(-hazard)
    lived = mean_life_h(shape, scale_h) * gammainc(1 / np.asarray(shape), hazard)
    return (planned * (1 - failed) + breakdown * failed) / lived


def best_age_h(shape, scale_h, planned_cost: float, breakdown_cost: float):
    """Age in hours with the least cost per hour; inf where running to failure is as good.

    ``shape`` and ``scale_h`` may be arrays. A shape of 1 or less never wears out, so inf.
    ValueError for a cost of zero or less. Barlow and Proschan's age replacement (from memory).
    """
    planned = positive(planned_cost, "The planned cost")
    breakdown = positive(breakdown_cost, "The breakdown cost")
    shape, scale_h = np.broadcast_arrays(np.asarray(shape, float), np.asarray(scale_h, float))
    ages = np.full(shape.shape, np.inf)
    if planned < breakdown:
        wears = shape > 1
        ages[wears] = scale_h[wears] * _best_share_of_scale(
            shape[wears], planned / (breakdown - planned)
        )
    return ages if ages.ndim else float(ages)


def replacement_age(fit: WeibullFit, planned_cost: float, breakdown_cost: float) -> ReplacementAge:
    """The best replacement age for a fitted life and the two costs, with what it saves.

    ValueError for a cost of zero or less.
    """
    costs = (planned_cost, breakdown_cost)
    age = best_age_h(fit.shape, fit.scale_h, *costs)
    if not np.isfinite(age):
        return ReplacementAge(None, 0.0, (0.0, 0.0), 0.0, fit)

    def saving(shape, scale_h):
        return _saving(age, shape, scale_h, *costs)

    chance = fit.chance_of(lambda shape, scale_h: saving(shape, scale_h) > 0)
    return ReplacementAge(
        age_h=age if chance >= SURE else None,
        saving=float(saving(fit.shape, fit.scale_h)),
        saving_bounds=fit.bounds_of(saving),
        chance=chance,
        fit=fit,
    )


def renewal_interval(
    shape: float, scale_h: float, renewal_cost: float, repair_cost: float
) -> RenewalInterval:
    """Hours between renewals when each failure in between is mended and nothing more.

    Barlow and Hunter's minimal repair (formula from memory): cost (cp + cr·(t/η)^β)/t, least at
    η·(cp/(cr(β−1)))^(1/β). With a shape of 1 or less mending for ever is cheapest: both None.
    ValueError for anything of zero or less.
    """
    shape = positive(shape, "The shape")
    scale_h = positive(scale_h, "The scale", "h")
    renewal = positive(renewal_cost, "The renewal cost")
    repair = positive(repair_cost, "The repair cost")
    if shape <= 1:
        return RenewalInterval(None, None)
    interval = scale_h * (renewal / (repair * (shape - 1))) ** (1 / shape)
    return RenewalInterval(interval, (renewal + repair * (interval / scale_h) ** shape) / interval)


def _saving(age: float, shape, scale, planned_cost: float, breakdown_cost: float):
    to_failure = float(breakdown_cost) / mean_life_h(shape, scale)
    return 1 - age_cost_per_h(age, shape, scale, planned_cost, breakdown_cost) / to_failure


def _best_share_of_scale(shape: np.ndarray, target: float) -> np.ndarray:
    """Best age over scale, by bisection of h(t)·∫R − F(t) = cp/(cf − cp), which only rises."""
    low = np.zeros_like(shape)
    high = (-np.log(_HARDLY_REACHED)) ** (1 / shape)
    reached = _balance(high, shape) >= target
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        above = _balance(middle, shape) >= target
        high = np.where(above, middle, high)
        low = np.where(above, low, middle)
    return np.where(reached, high, np.inf)


def _balance(share: np.ndarray, shape: np.ndarray) -> np.ndarray:
    hazard = share**shape
    lived = gamma(1 + 1 / shape) * gammainc(1 / shape, hazard)
    return shape * share ** (shape - 1) * lived + np.expm1(-hazard)
