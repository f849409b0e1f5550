"""What to do to bring a station from where it stands to where it should stand.

The ways a station can be adjusted are data: here a casting that shifts freely once its bolts are
loose and an offset keyed in at the control, in ``screws`` jack screws on a bolt circle, in
``shims`` feet with shims under them. Each has ``plan(now, target)``, which gives the steps in the
units the hand uses and foretells where the station stands after them.

Places are those of the machine's frame (see ``frame``), at the plane that was swept (z = 0); z
counts away from the headstock, and so do slopes. A screw or a shim is rounded to what the hand can
do; the rest stays and is shown.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alignment.geometry.arrays import finite_array
from machines.engineering.inputs import not_negative, positive


@dataclass(frozen=True)
class Place:
    """Where a station stands seen from its datum: offset in µm and lean of its axis in µm per
    100 mm, to the front and up."""

    front_um: float = 0.0
    up_um: float = 0.0
    slope_front_um_per_100mm: float = 0.0
    slope_up_um_per_100mm: float = 0.0


@dataclass(frozen=True)
class Shift:
    """Move the casting this far in this direction."""

    front_um: float
    up_um: float
    distance_um: float


@dataclass(frozen=True)
class KeyIn:
    """Add ``add_um``, with its sign, to the offset of ``axis`` at the control."""

    axis: str
    add_um: float


@dataclass(frozen=True)
class Move:
    """Steps, where the station stands after them, and what they cannot do, in words."""

    steps: tuple
    after: Place
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class FreeShift:
    """A bolted casting that can be shifted in any direction; its tilt stays."""

    def plan(self, now: Place, target: Place | None = None) -> Move:
        target = checked_target(now, target)
        front, up = map(float, offset_of(target) - offset_of(now))
        step = Shift(front, up, float(np.hypot(front, up)))
        after = Place(*map(float, offset_of(target)), *map(float, slopes_of(now)))
        return Move((step,), after, _tilt_left(after, target))


@dataclass(frozen=True)
class KeyedAxis:
    """An axis whose offset moves a station: ``sign`` +1 when a larger offset moves it to the
    front or up.

    ``diameter``: offsets count on the diameter. ``step_um``: the control's least increment.
    """

    letter: str
    sign: int = 1
    diameter: bool = False
    step_um: float = 1.0


@dataclass(frozen=True)
class ControlOffset:
    """A station that is brought to place by offsets keyed in; a direction may have no axis."""

    front: KeyedAxis | None = None
    up: KeyedAxis | None = None

    def plan(self, now: Place, target: Place | None = None) -> Move:
        """Raises ValueError when there is no axis at all, or its sign or increment is wrong."""
        target = checked_target(now, target)
        if self.front is None and self.up is None:
            raise ValueError("No axis is named whose offset could be keyed in.")
        after, steps = now, []
        for which, axis in enumerate((self.front, self.up)):
            if axis is None:
                continue
            wanted = offset_of(target)[which] - offset_of(now)[which]
            factor = _sign(axis) * (2 if axis.diameter else 1)
            step = positive(axis.step_um, f"The least increment of {axis.letter}", "µm")
            add = float(to_step(np.array([wanted * factor]), step)[0])
            steps.append(KeyIn(axis.letter, add))
            after = pushed(after, which, add / factor, 0.0)
        return Move(tuple(steps), after, _tilt_left(after, target))


def checked_target(now: Place, target: Place | None) -> Place:
    """The target, by default no offset and no tilt; ValueError unless both places are finite."""
    target = target or Place()
    for name, place in (("measured", now), ("wanted", target)):
        finite_array([*offset_of(place), *slopes_of(place)], f"figures of the {name} place")
    return target


def offset_of(place: Place) -> np.ndarray:
    """(front, up) in µm."""
    return np.array([place.front_um, place.up_um], dtype=float)


def slopes_of(place: Place) -> np.ndarray:
    """(slope front, slope up) in µm per 100 mm."""
    return np.array([place.slope_front_um_per_100mm, place.slope_up_um_per_100mm], dtype=float)


def to_step(values: np.ndarray, step: float) -> np.ndarray:
    """The nearest whole steps; the values themselves for a step of zero."""
    least = not_negative(step, "The smallest step")
    # Adding zero turns a rounded −0.0 into 0.0.
    return (np.round(values / least) * least if least else values) + 0.0


def pushed(now: Place, which: int, lift_um: float, slope: float) -> Place:
    """The place lifted and tilted in one direction, 0 for front and 1 for up."""
    offset, slopes = offset_of(now), slopes_of(now)
    offset[which] += lift_um
    slopes[which] += slope
    return Place(*map(float, offset), *map(float, slopes))


def _tilt_left(after: Place, target: Place) -> tuple[str, ...]:
    if np.array_equal(slopes_of(after), slopes_of(target)):
        return ()
    return ("This does not change the tilt of the axis.",)


def _sign(axis: KeyedAxis) -> int:
    if axis.sign not in (1, -1):
        raise ValueError(f"The sign of {axis.letter} is +1 or −1, not {axis.sign}.")
    return axis.sign
