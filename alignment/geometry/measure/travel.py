"""One figure from a travel along a test bar, or from a flat held against a bar; and its budget."""

from __future__ import annotations

import math

import numpy as np

from .bar import BarCheck
from .budget import Component, combine, rectangular
from .conditions import Conditions, Scatter, form_rows, reading_rows, setting_rows
from .face import FlatHeight
from .outcome import SweepOutcome
from .quantity import (
    BOW_RIGHT,
    BOW_UP,
    OF_A_BAR,
    RIGHT,
    RUNOUT_FAR,
    RUNOUT_NEAR,
    TILT,
    TILT_RIGHT,
    TILT_UP,
    UP,
)

RUNOUTS = {RUNOUT_NEAR: 0, RUNOUT_FAR: -1}
BOWS = {BOW_RIGHT: (1.0, 0.0), BOW_UP: (0.0, 1.0)}
SLOPES = {TILT_RIGHT: (1.0, 0.0), TILT_UP: (0.0, 1.0)}


def bar_outcome(
    bar: BarCheck, quantity: str, conditions: Conditions, *, bar_error_um=None
) -> SweepOutcome:
    """Parallelism of the travel and the spindle's axis, per the stated length of ``bar``; the
    travel's straightness along it; or the bar's run-out at one end.

    ``bar_error_um``: how far (±) the bar's own axis may be off the spindle's. It counts only
    where the bar was not turned; unknown (None) it proves nothing then. Raises ValueError for
    another quantity, for a run-out of a bar that was not turned, and for straightness from two
    positions.
    """
    if quantity in OF_A_BAR:
        return _size_outcome(bar, quantity, conditions, bar_error_um)
    if quantity not in (*SLOPES, TILT):
        raise ValueError(f"A travel along a bar gives a tilt, not {quantity}.")
    vector = np.array([bar.right.slope_um, bar.up.slope_um])
    size = float(np.hypot(*vector))
    direction = np.array(SLOPES.get(quantity) or (vector / size if size else (0.0, 1.0)))
    value = size if quantity == TILT else float(vector @ direction)
    reach = float(np.sqrt(np.sum((bar.z_mm - bar.z_mm.mean()) ** 2)))
    steady = bar.per_mm / reach
    noise = steady / math.sqrt(2) if bar.separated else steady
    rows = [
        *reading_rows(conditions, _along(bar, direction), noise=noise, steady=steady),
        # One end may be off one way and the other end the other.
        *_bar_rows(bar, bar_error_um, math.sqrt(2) * bar.per_mm / float(np.ptp(bar.z_mm))),
        *setting_rows(conditions, value, sag=0.0, warm=0.0),
    ]
    return SweepOutcome(value, float(vector[0]), float(vector[1]), combine(rows))


def flat_outcome(
    flat: FlatHeight, quantity: str, conditions: Conditions, *, on_bar, on_flat, diameter_u_um=0.0
) -> SweepOutcome:
    """Centre height ("up") or centre position ("right") of a flat, off its nominal.

    ``on_bar``, ``on_flat``: how many readings were taken on each. Raises ValueError for another
    quantity.
    """
    if quantity not in (RIGHT, UP):
        raise ValueError(f"A flat gives an offset to the right or upwards, not {quantity}.")
    right, up = (flat.error_um, 0.0) if quantity == RIGHT else (0.0, flat.error_um)
    # The mean of readings along the flat; what was stated of a reading may explain their scatter.
    scatter = Scatter(flat.scatter_um, flat.scatter_dof, math.isinf(flat.dof_u))
    rows = reading_rows(
        conditions, scatter, noise=math.sqrt(1 / on_bar + 1 / on_flat), steady=math.sqrt(2)
    )
    if diameter_u_um:
        rows.append(Component("bar's diameter", float(diameter_u_um), sensitivity=0.5))
    rows += setting_rows(conditions, flat.error_um, sag=0.0, warm=1.0)
    return SweepOutcome(flat.error_um, right, up, combine(rows))


def _along(bar: BarCheck, direction) -> Scatter:
    """What the readings leave over about the line, in the direction asked for.

    The machine's line is the mean of two readings where the bar was turned, so one reading
    scatters more by the root of two.
    """
    lines = (bar.right, bar.up)
    dof = len(bar.z_mm) - 2
    used = [(line, part) for line, part in zip(lines, direction, strict=True) if part]
    squares = sum(part**2 * _left_over(bar.z_mm, line.machine_um) for line, part in used)
    per_reading = 2.0 if bar.separated else 1.0
    explained = all(math.isinf(line.dof_u) for line, _ in used)
    scatter = math.sqrt(per_reading * squares / dof) if dof else math.inf
    return Scatter(scatter, float(dof), explained)


def _left_over(z: np.ndarray, values: np.ndarray) -> float:
    """Sum of squares about the least-squares line."""
    from_middle = z - z.mean()
    slope = from_middle @ values / (from_middle @ from_middle)
    return float(np.sum((values - values.mean() - slope * from_middle) ** 2))


def _size_outcome(bar: BarCheck, quantity, conditions, bar_error_um) -> SweepOutcome:
    """A run-out or a straightness: the difference of two readings, or of two means of two."""
    if quantity in RUNOUTS:
        vector, noise = _runout(bar, RUNOUTS[quantity]), math.sqrt(2)
        rows = []
    else:
        vector, noise = _bow(bar, quantity), 1.0 if bar.separated else math.sqrt(2)
        rows = _bar_rows(bar, bar_error_um, math.sqrt(2))
    size = float(np.hypot(*vector))
    direction = vector / size if size else np.array([0.0, 1.0])
    scatter = _along(bar, direction)
    # What is left about the line is part of the figure; it stands for the readings only where
    # nothing else is known of them.
    if conditions.reading_u_um > 0:
        scatter = Scatter(0.0, 0.0, True)
    rows = reading_rows(conditions, scatter, noise=noise, steady=math.sqrt(2)) + rows
    rows += setting_rows(conditions, size, sag=0.0, warm=0.0)
    turns = quantity in RUNOUTS
    # Two readings opposite each other see an offset, and of a bar's own form nothing.
    rows += form_rows(conditions.form_um or 0.0) if turns else []
    return SweepOutcome(
        size,
        float(vector[0]),
        float(vector[1]),
        combine(rows),
        least_um=size if turns else None,
        form_unknown=turns and conditions.form_um is None,
    )


def _runout(bar: BarCheck, end: int) -> np.ndarray:
    if not bar.separated:
        raise ValueError("A bar's run-out shows as it turns: read it turned by half a turn, too.")
    return 2 * np.array([bar.right.bar_um[end], bar.up.bar_um[end]])


def _bow(bar: BarCheck, quantity) -> np.ndarray:
    line = bar.up if quantity == BOW_UP else bar.right
    if line.straightness_um is None:
        raise ValueError("Two positions are always on one line: read the bar at three or more.")
    return line.straightness_um * np.array(BOWS[quantity])


def _bar_rows(bar: BarCheck, bar_error_um, effect: float) -> list[Component]:
    if bar.separated:
        return []
    if bar_error_um is None:
        return [Component("the bar's own error, not separated", math.inf, 0.0)]
    row = Component("the bar's own error", rectangular(bar_error_um), sensitivity=effect)
    return [row] if row.contribution else []
