"""Tilting a casting by jack or levelling screws on a bolt circle.

Where a casting stands nearer to the headstock its axis leans that way the further it runs from
the headstock, so a tilt is set by moving the casting at the screws towards the headstock or away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from alignment.geometry.arrays import finite_array
from alignment.geometry.frame import LEFT, RIGHT
from alignment.geometry.measure.axis import PER_MM
from alignment.geometry.measure.sweep import LARGEST_BLOW_UP
from machines.engineering.inputs import finite, positive

from .move import Move, Place, checked_target, offset_of, slopes_of, to_step

_HANDS = {RIGHT: 1.0, LEFT: -1.0}
PUSHES = {"towards the headstock": 1.0, "away from the headstock": -1.0}


@dataclass(frozen=True)
class ScrewTurn:
    """Turn the screw at ``angle_deg`` by ``turn_deg``: clockwise plus, seen on its head.

    ``height_um``: by how much the casting comes towards the headstock there.
    """

    angle_deg: float
    turn_deg: float
    height_um: float

    @property
    def way(self) -> str:
        if self.turn_deg == 0:
            return "leave"
        return "clockwise" if self.turn_deg > 0 else "anticlockwise"


@dataclass(frozen=True)
class JackScrews:
    """Three or more jack or levelling screws that tilt a casting.

    ``angles_deg``: their clock positions on a circle of ``radius_mm`` in a view that has front at
    the hand ``front_at``, "right" or "left" (see ``frame.side_of_front``). ``clockwise_pushes``:
    "towards the headstock" or "away from the headstock", what a clockwise turn does to the
    casting at the screw. ``plane_mm``: the screws' plane from the swept plane, away from the
    headstock, about which the casting pivots. ``hold``: index of a screw to leave alone; None
    lets all share the turns.
    ``least_turn_deg``: the smallest turn a hand can set; 0 for none.
    """

    radius_mm: float
    angles_deg: Sequence[float]
    pitch_mm: float
    clockwise_pushes: str = "towards the headstock"
    plane_mm: float = 0.0
    hold: int | None = None
    least_turn_deg: float = 1.0
    front_at: str = RIGHT

    def plan(self, now: Place, target: Place | None = None) -> Move:
        """Raises ValueError for screws that cannot set a tilt, with what is wrong with them."""
        target = checked_target(now, target)
        arms = self._arms()
        sign = PUSHES[self._push()]
        um_per_deg = positive(self.pitch_mm, "The pitch of the screws", "mm") * 1000 / 360
        change = slopes_of(target) - slopes_of(now)
        heights = arms @ change
        heights -= heights[self.hold] if self.hold is not None else heights.mean()
        turns = to_step(sign * heights / um_per_deg, self.least_turn_deg)
        reached = sign * turns * um_per_deg
        level = np.column_stack([np.ones(len(arms)), arms])
        done = np.linalg.lstsq(level, reached, rcond=None)[0][1:]
        steps = tuple(
            ScrewTurn(float(a), float(t), float(h))
            for a, t, h in zip(self.angles_deg, turns, reached, strict=True)
        )
        return Move(steps, _tilted(now, done, self.plane_mm), _position_left(self, now, done))

    def _push(self) -> str:
        if self.clockwise_pushes not in PUSHES:
            raise ValueError(
                f"A clockwise turn pushes {' or '.join(PUSHES)}, not {self.clockwise_pushes!r}."
            )
        return self.clockwise_pushes

    def _arms(self) -> np.ndarray:
        """Rise of the casting at each screw per slope of 1 µm per 100 mm, (screws, 2)."""
        angles = finite_array(self.angles_deg, "angles of the screws")
        radius = positive(self.radius_mm, "The radius of the screws' circle", "mm")
        finite(self.plane_mm, "The plane of the screws")
        if len(angles) < 3:
            raise ValueError(f"A tilt needs three screws at least; there are {len(angles)}.")
        if self.hold is not None and self.hold not in range(len(angles)):
            raise ValueError(f"There is no screw number {self.hold} to leave alone.")
        theta = np.radians(angles)
        along = np.column_stack([np.ones(len(theta)), np.sin(theta), np.cos(theta)])
        if np.linalg.svd(along, compute_uv=False)[-1] < 1 / LARGEST_BLOW_UP:
            raise ValueError(
                "The screws do not stand at three different places of the circle, so they cannot "
                "set a tilt in every direction."
            )
        return along[:, 1:] * [_HANDS[self.front_at], 1.0] * radius / PER_MM


def _tilted(now: Place, slopes: np.ndarray, pivot_mm: float) -> Place:
    """The place after a tilt by ``slopes`` about the axis' point in the plane ``pivot_mm``."""
    offset = offset_of(now) - slopes * pivot_mm / PER_MM
    return Place(*map(float, offset), *map(float, slopes_of(now) + slopes))


def _position_left(way: JackScrews, now: Place, slopes: np.ndarray) -> tuple[str, ...]:
    if np.any(slopes * way.plane_mm):
        return ("The tilt also shifts the axis at the swept plane; sweep again afterwards.",)
    return ()
