"""Tolerances: a circle about where an axis should be, or limits of a figure.

How far out an axis lies is asked in two ways. The chance that it is outside takes its place as
spread about the estimate. A confidence asks how often the estimate would come out nearer in than
it did, were the axis right on the edge: a distance seen through noise is too long on the average,
and only the second question allows for that.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy import special

from alignment.geometry.measure.quantity import FRONT, OFFSET, TIR, UP

from .outside import outside_circle, outside_limits, outside_round

_TABLE = 2000


def offset_allowed_um(quantity: str, lower_um=None, upper_um=None) -> float | None:
    """How far off an axis may stand, whichever way, by the limits (µm) of one of its figures.

    The nearest limit going out from zero: 5 for -5 to +20, 20 for 0 to +20 and for +5 to +20. Half
    of it for a TIR, since the TIR of a pure offset is twice the offset. None where the limits end
    nowhere, and for a tilt or a figure of a bar, which are no offsets. An offset of which the
    direction is unknown lies within for certain no further out (ISO 14253-1's side of caution).
    """
    if quantity not in (OFFSET, TIR, FRONT, UP):
        return None
    upwards = [float(upper_um)] if upper_um is not None and upper_um > 0 else []
    downwards = [-float(lower_um)] if lower_um is not None and lower_um < 0 else []
    nearest = min(upwards + downwards, default=None)
    return nearest / 2 if nearest and quantity == TIR else nearest


def share_used(value_um, lower_um=None, upper_um=None) -> float | None:
    """How much of its tolerance a figure uses: 0 in the middle of its limits, 1 at one of them.

    With one limit the middle is zero; None where the figure lies on the side that has none, or
    where the limits leave no room.
    """
    lower = None if lower_um is None else float(lower_um)
    upper = None if upper_um is None else float(upper_um)
    if lower is not None and upper is not None:
        half = (upper - lower) / 2
        return abs(value_um - (upper + lower) / 2) / half if half > 0 else None
    limit = upper if lower is None else lower
    if limit is None or limit == 0 or value_um * limit < 0:
        return None
    return value_um / limit


@dataclass(frozen=True)
class Circle:
    """An axis, (right, up), may lie anywhere within ``radius_um`` of where it should be.

    A number, or (S,) with one for each series. Raises ValueError unless more than zero.
    """

    radius_um: np.ndarray | float

    parts = 2

    def __post_init__(self):
        if not np.all(np.asarray(self.radius_um, float) > 0):
            raise ValueError("The radius of a tolerance circle must be more than zero.")

    def take(self, which, repeat: int = 1) -> Circle:
        """The tolerance of the series picked, each ``repeat`` times over."""
        return Circle(_take(self.radius_um, which, repeat))

    @property
    def reach_um(self):
        """How far from the middle the tolerance ends."""
        return np.asarray(self.radius_um, float)

    def off_middle(self, position):
        return position

    def chance_outside(self, mean, cov):
        """Chance (M,) that an axis N(mean (M, 2), cov) lies outside."""
        return outside_circle(mean, cov, self.radius_um)

    def confidence_too_risky(self, mean, cov, wander, risk: float):
        """Confidence (M,) that the axis, estimated at ``mean`` with ``cov``, lies so far out that
        wandering by ``wander`` (M,), the standard deviation of each part, would take it outside
        with more than ``risk``.
        """
        edge = self.radius_um * _safe_share(np.asarray(wander) / self.radius_um, "circle", risk)
        distance = np.hypot(mean[:, 0], mean[:, 1])
        centre, reach = np.maximum(edge, 0.0), distance + np.maximum(-edge, 0.0)
        if cov.ndim == 1:
            return 1 - outside_round(centre, cov, reach)
        towards = mean / np.maximum(distance, 1e-300)[:, None]
        return 1 - outside_circle(towards * centre[:, None], cov, reach)


@dataclass(frozen=True)
class Limits:
    """A figure must lie between ``lower_um`` and ``upper_um``; one may be infinite.

    Numbers, or (S,) with one for each series. Raises ValueError unless the lower is below the
    upper and at least one is finite.
    """

    lower_um: np.ndarray | float
    upper_um: np.ndarray | float

    parts = 1

    def __post_init__(self):
        lower, upper = np.asarray(self.lower_um, float), np.asarray(self.upper_um, float)
        if not np.all(lower < upper) or np.any(np.isinf(lower) & np.isinf(upper)):
            raise ValueError("Expected a lower limit below the upper one, at least one finite.")

    def take(self, which, repeat: int = 1) -> Limits:
        """The tolerance of the series picked, each ``repeat`` times over."""
        return Limits(_take(self.lower_um, which, repeat), _take(self.upper_um, which, repeat))

    @property
    def reach_um(self):
        """How far from the middle the tolerance ends; from zero where it has one side."""
        two, half, _ = self._span()
        return np.where(
            two, half, np.where(np.isinf(self.upper_um), -self._ends()[0], self.upper_um)
        )

    def off_middle(self, position):
        """``position`` (S, 1) as seen from the middle, or counted towards the only limit."""
        two, _, middle = self._span()
        towards = np.where(np.isinf(self.upper_um), -1.0, 1.0)
        return (position - np.where(two, middle, 0.0)[..., None]) * towards[..., None]

    def chance_outside(self, mean, cov):
        """Chance (M,) that a figure N(mean (M, 1), cov) lies outside."""
        return outside_limits(mean[..., 0], _variance(cov), *self._ends())

    def confidence_too_risky(self, mean, cov, wander, risk: float):
        """Confidence (M,) that the figure, estimated at ``mean`` with ``cov``, lies so far out
        that wandering by ``wander`` (M,) would take it outside with more than ``risk``."""
        two, half, middle = self._span()
        lower, upper = self._ends()
        edge = half * _safe_share(wander / half, "limits", risk)
        variance, figure, margin = _variance(cov), mean[..., 0], -special.ndtri(risk) * wander
        reach = np.abs(figure - middle) + np.maximum(-edge, 0.0)
        both = 1 - outside_limits(np.maximum(edge, 0.0), variance, -reach, reach)
        one = outside_limits(figure, variance, lower + margin, upper - margin)
        return np.where(two, both, one)

    def _ends(self):
        return np.asarray(self.lower_um, float), np.asarray(self.upper_um, float)

    def _span(self):
        """Are there two limits, half the way between them, and the middle."""
        lower, upper = np.broadcast_arrays(*self._ends())
        two = np.isfinite(lower) & np.isfinite(upper)
        lower, upper = np.where(two, lower, -1.0), np.where(two, upper, 1.0)
        return two, (upper - lower) / 2, (upper + lower) / 2


def _safe_share(wander, shape, risk):
    """How far out, as a share of the reach, a place is still safe but for ``risk``.

    Negative where wandering alone is past the risk even from the middle. It goes on falling
    evenly there, so that a confidence does not jump to certainty when one case of many crosses
    that line; the simulations among the tests need that to come out right.
    """
    known, share = _safe_table(shape, risk)
    return np.where(wander > known[-1], 1 - wander / known[-1], np.interp(wander, known, share))


@cache
def _safe_table(shape, risk):
    """Wander as a share of the reach, and how far out, as a share, one may start from there."""
    chance = {"circle": outside_round, "limits": _outside_pair}[shape]
    widest = {"circle": np.sqrt(-2 * np.log(risk)), "limits": -special.ndtri(risk / 2)}[shape]
    wander = np.sin(np.linspace(0, np.pi / 2, _TABLE + 1))[1:] / widest
    low, high = np.zeros(_TABLE), np.ones(_TABLE)
    for _ in range(50):
        middle = (low + high) / 2
        safe = chance(middle, wander**2, np.ones(_TABLE)) <= risk
        low, high = np.where(safe, middle, low), np.where(safe, high, middle)
    return np.append(0.0, wander), np.append(1.0, low)


def _outside_pair(mean, variance, reach):
    return outside_limits(mean, variance, -reach, reach)


def _variance(cov):
    return cov if cov.ndim == 1 else cov[:, 0, 0]


def _take(values, which, repeat):
    values = np.asarray(values, float)
    return values if values.ndim == 0 else np.repeat(values[which], repeat)
