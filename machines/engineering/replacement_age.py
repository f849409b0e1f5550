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

# Shapes beyond these are told from no record and of no part.
_LEAST_SHAPE, _MOST_SHAPE = 0.01, 1000

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


@dataclass(frozen=True)
class RenewalInterval:
    """Hours between renewals when failures in between are only mended; None: never renew."""

    interval_h: float | None
    cost_per_h: float | None


def age_cost_per_h(age_h, shape, scale_h, planned_cost: float, breakdown_cost: float):
    """Long-run cost per hour of replacing at ``age_h`` or at failure, whichever is first.

    ``age_h``, ``shape`` and ``scale_h`` may be arrays. Costs in any one currency. ValueError for a
    cost, an age or a scale of zero or less, or a shape outside 0.01 to 1,000.
    """
    costs = _costs(planned_cost, breakdown_cost)
    age_h = _each(age_h, lambda age: positive(age, "The age", "h"))
    return _cost_per_h(age_h, *_life(shape, scale_h), *costs)


def best_age_h(shape, scale_h, planned_cost: float, breakdown_cost: float):
    """Age in hours with the least cost per hour; inf where running to failure is as good.

    ``shape`` and ``scale_h`` may be arrays. A shape of 1 or less never wears out, so inf.
    ValueError as for ``age_cost_per_h``. Barlow and Proschan's age replacement (from memory).
    """
    costs = _costs(planned_cost, breakdown_cost)
    ages = _best_age_h(*_life(shape, scale_h), *costs)
    return ages if ages.ndim else float(ages)


def replacement_age(fit: WeibullFit, planned_cost: float, breakdown_cost: float) -> ReplacementAge:
    """The best replacement age for a fitted life and the two costs, with what it saves.

    ValueError for a cost of zero or less.
    """
    costs = _costs(planned_cost, breakdown_cost)
    shape, scale_h = fit.middle_of(lambda shape, _: shape), fit.middle_of(lambda _, scale: scale)
    age = float(_best_age_h(shape, scale_h, *costs))
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


def renewal_interval(
    shape: float, scale_h: float, renewal_cost: float, repair_cost: float
) -> RenewalInterval:
    """Hours between renewals when each failure in between is mended and nothing more.

    Barlow and Hunter's minimal repair (formula from memory): cost (cp + cr·(t/η)^β)/t, least at
    η·(cp/(cr(β−1)))^(1/β). With a shape of 1 or less mending for ever is cheapest: both None.
    ValueError for anything of zero or less.
    """
    shape, scale_h = (float(value) for value in _life(shape, scale_h))
    renewal = positive(renewal_cost, "The renewal cost")
    repair = positive(repair_cost, "The repair cost")
    if shape <= 1:
        return RenewalInterval(None, None)
    interval = scale_h * (renewal / (repair * (shape - 1))) ** (1 / shape)
    # At that interval the repairs cost renewal/(shape − 1).
    return RenewalInterval(interval, renewal * shape / (shape - 1) / interval)


def _costs(planned: float, breakdown: float) -> tuple[float, float]:
    return positive(planned, "The planned cost"), positive(breakdown, "The breakdown cost")


def _life(shape, scale_h) -> tuple[np.ndarray, np.ndarray]:
    return _each(shape, _shape), _each(scale_h, lambda one: positive(one, "The scale", "h"))


def _shape(value) -> float:
    shape = positive(value, "The shape")
    if not _LEAST_SHAPE <= shape <= _MOST_SHAPE:
        raise ValueError(
            f"The shape must lie between {_LEAST_SHAPE:g} and {_MOST_SHAPE:,}, not {shape:g}."
        )
    return shape


def _each(values, checked) -> np.ndarray:
    """Values, a number or an array of any shape, each ``checked``."""
    values = np.asarray(values, dtype=object)
    return np.array([checked(value) for value in values.flat]).reshape(values.shape)


def _cost_per_h(age_h, shape, scale_h, planned: float, breakdown: float):
    """Renewal reward: (cp·R + cf·F) / ∫R from 0 to the age, with the integral of a Weibull R as an
    incomplete gamma function; next to nought it is the age itself."""
    with np.errstate(over="ignore", under="ignore"):
        hazard = (age_h / scale_h) ** shape
        lived = mean_life_h(shape, scale_h) * gammainc(1 / np.asarray(shape), hazard)
    lived = np.where(hazard < _NEXT_TO_NOUGHT, age_h, lived)
    failed = -np.expm1(-hazard)
    return (planned * (1 - failed) + breakdown * failed) / lived


def _best_age_h(shape, scale_h, planned: float, breakdown: float) -> np.ndarray:
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
        return 1 - _cost_per_h(age, shape, scale, planned, breakdown) / to_failure


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
