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

# Below this share of a failure, hardly one in a million million, nothing has failed yet.
_NEXT_TO_NOUGHT = 1e-12


@dataclass(frozen=True)
class ReplacementAge:
    """The age in hours at which replacing costs least per hour, and what that saves.

    ``age_h`` is None until the record shows with the chance ``life.SURE`` that replacing at the
    cheapest age saves anything. ``saving`` is what it would save relative to running to failure,
    with its bounds; ``chance`` is that of any.
    """

    age_h: float | None
    saving: float
    saving_bounds: tuple[float, float]
    chance: float
    fit: WeibullFit

    @property
    def sentence(self) -> str:
        if self.age_h is None:
            doubt = f"chance {100 * self.chance:.0f} %, {100 * SURE:g} % wanted; "
            basis = f"{doubt if self.chance else ''}{self.fit.basis}"
            return (
                "No replacement age yet: these records do not show that replacing before failure "
                f"saves anything ({basis}). Until then look at it, and run it to failure where "
                "that is safe."
            )
        low, high = (f"{100 * bound:.0f}".replace("-", "−") for bound in self.saving_bounds)
        return (
            f"Replace at {self.age_h:,.0f} h: costs {100 * self.saving:.0f} % less than running "
            f"to failure ({100 * self.fit.confidence:.0f} % interval {low} to {high} %, "
            f"{self.fit.basis})."
        )


def replacement_age(fit: WeibullFit, planned_cost: float, breakdown_cost: float) -> ReplacementAge:
    """The best replacement age for a fitted life and the two costs, with what it saves.

    ValueError for a cost of zero or less.
    """
    costs = _costs(planned_cost, breakdown_cost)
    shape, scale_h = fit.middle_of(lambda shape, _: shape), fit.middle_of(lambda _, scale: scale)
    age = float(best_age_h(shape, scale_h, *costs))
    if not np.isfinite(age):
        return ReplacementAge(None, 0.0, (0.0, 0.0), 0.0, fit)

    def saving(shape, scale_h):
        return _saving(age, shape, scale_h, *costs)

    chance = fit.chance_of(lambda shape, scale_h: saving(shape, scale_h) > 0)
    return ReplacementAge(
        age_h=age if chance >= SURE else None,
        saving=fit.middle_of(saving),
        saving_bounds=fit.bounds_of(saving),
        chance=chance,
        fit=fit,
    )


def _costs(planned: float, breakdown: float) -> tuple[float, float]:
    return positive(planned, "The planned cost"), positive(breakdown, "The breakdown cost")


def age_cost_per_h(age_h, shape, scale_h, planned: float, breakdown: float):
    """Long-run cost per hour of replacing at ``age_h`` or at failure, whichever is first.

    Age, shape and scale may be arrays, all above zero; costs in any one currency. Renewal reward:
    (cp·R + cf·F) / ∫R from 0 to the age, with the integral of a Weibull R as an incomplete gamma
    function; next to nought it is the age itself.
    """
    with np.errstate(over="ignore", under="ignore"):
        hazard = (age_h / scale_h) ** shape
        lived = mean_life_h(shape, scale_h) * gammainc(1 / np.asarray(shape), hazard)
    lived = np.where(hazard < _NEXT_TO_NOUGHT, age_h, lived)
    failed = -np.expm1(-hazard)
    return (planned * (1 - failed) + breakdown * failed) / lived


def best_age_h(shape, scale_h, planned: float, breakdown: float) -> np.ndarray:
    """Age in hours with the least cost per hour; inf where running to failure is as good.

    ``shape`` and ``scale_h`` may be arrays, above zero. A shape of 1 or less never wears out, so
    inf. Barlow and Proschan's age replacement (from memory).
    """
    shape, scale_h = np.broadcast_arrays(np.asarray(shape, float), np.asarray(scale_h, float))
    ages = np.full(shape.shape, np.inf)
    if planned < breakdown:
        wears = shape > 1
        ages[wears] = scale_h[wears] * _best_share_of_scale(
            shape[wears], planned / (breakdown - planned)
        )
    return ages


def _saving(age: float, shape, scale, planned: float, breakdown: float):
    to_failure = breakdown / mean_life_h(shape, scale)
    with np.errstate(over="ignore"):
        return 1 - age_cost_per_h(age, shape, scale, planned, breakdown) / to_failure


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
