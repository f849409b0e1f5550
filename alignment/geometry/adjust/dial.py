"""The dial while a station is being moved, and the sweep after it against what was foretold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alignment.geometry.arrays import finite_array
from alignment.geometry.measure.sweep import lever_cosine, predicted_readings
from alignment.geometry.vectors import region_factor
from machines.engineering.inputs import finite

from .move import Place


@dataclass(frozen=True)
class MoveResult:
    """What a move came to.

    ``miss_…``: where the station stands less where it was foretold to stand. ``agrees``: the
    miss is no more than the uncertainties of both sweeps explain (95 %), None when those are
    unknown. ``wrong_way``: the station went away from its target by half the planned way or more.
    """

    miss_front_um: float
    miss_up_um: float
    miss_um: float
    agrees: bool | None
    wrong_way: bool


def dial_after(
    angles_deg, readings_um, shift_right_um, shift_up_um, *, surface="bore", lever_deg=0.0
) -> np.ndarray:
    """What the dial will show at ``angles_deg`` (n) when the swept centre has moved by so much in
    the dial's own view, zero untouched.

    ``readings_um`` (n): what it shows now, as read; sag, form and the dial's zero are in them
    and stay. Raises ValueError as
    ``predicted_readings`` does, and for unequal numbers.
    """
    now = finite_array(readings_um, "readings")
    change = predicted_readings(
        finite(shift_right_um, "The shift to the right"),
        finite(shift_up_um, "The shift upwards"),
        angles_deg,
        surface,
        None,
    )
    if len(change) != len(now):
        raise ValueError(f"There are {len(change)} angles but {len(now)} readings.")
    return now + change / lever_cosine(lever_deg)


def compare_with_plan(before, foretold: Place, after) -> MoveResult:
    """Hold the sweep ``after`` a move against the place ``foretold`` from the one ``before``.

    Both have ``front_um``, ``up_um``, their ``covariance_um2`` (2, 2) and ``dof_u``: where the
    station stood by them, in the frame.
    """
    start = np.array([before.front_um, before.up_um])
    planned = np.array([foretold.front_um, foretold.up_um], dtype=float)
    stands = np.array([after.front_um, after.up_um])
    miss = stands - planned
    way = planned - start
    gone = (stands - start) @ way
    return MoveResult(
        miss_front_um=float(miss[0]),
        miss_up_um=float(miss[1]),
        miss_um=float(np.hypot(*miss)),
        agrees=_explained(miss, before, after),
        wrong_way=bool(way.any() and gone <= -(way @ way) / 2),
    )


def _explained(miss: np.ndarray, before, after) -> bool | None:
    covariance = before.covariance_um2 + after.covariance_um2
    if not np.isfinite(covariance).all():
        return None
    if np.linalg.eigvalsh(covariance)[0] <= 0:
        return not miss.any()
    distance = miss @ np.linalg.solve(covariance, miss)
    return bool(distance <= region_factor(min(before.dof_u, after.dof_u)))
