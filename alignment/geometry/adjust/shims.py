"""Lifting and tilting a station by shims under its feet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np

from alignment.geometry.arrays import finite_array
from alignment.geometry.measure.axis import PER_MM
from machines.engineering.inputs import not_negative, positive, whole

from .move import Move, Place, checked_target, offset_of, pushed, slopes_of

# Which direction a thicker shim pushes, 0 for front and 1 for up, and which way along it.
PUSHES = {"up": (1, 1.0), "front": (0, 1.0), "rear": (0, -1.0)}


@dataclass(frozen=True)
class ShimFoot:
    """Fit ``fitted_um`` of shims, in ``pieces``, under a foot that has ``present_um`` now."""

    foot: str
    present_um: float
    wanted_um: float
    fitted_um: float
    pieces: tuple[float, ...]


@dataclass(frozen=True)
class ShimmedFeet:
    """Feet with shims under them, which lift (or push aside) a station and tilt it along z.

    ``feet``: name of each foot with its z in mm from the swept plane, away
    from the headstock. ``stock_um``: thicknesses on the shelf. ``present_um``: what lies under
    each foot now (none when left out). ``pushes``: "up" for feet on a bed, "front" or "rear" for
    packing at the side. ``most_shims``: pieces that may lie on each other.
    """

    feet: dict[str, float]
    stock_um: Sequence[float]
    present_um: dict[str, float] | None = None
    pushes: str = "up"
    most_shims: int = 1

    def plan(self, now: Place, target: Place | None = None) -> Move:
        """Raises ValueError for no foot, an empty shelf, a foot not known, or a bad thickness."""
        target = checked_target(now, target)
        names, z, present, piles = self._checked()
        which, sign = PUSHES[self.pushes]
        lift = sign * (offset_of(target) - offset_of(now))[which]
        slope = sign * (slopes_of(target) - slopes_of(now))[which]
        can_tilt = np.ptp(z) > 0
        wanted = present + lift + (slope * z / PER_MM if can_tilt else 0.0)
        steps = tuple(
            _shimmed(name, p, w, piles) for name, p, w in zip(names, present, wanted, strict=True)
        )
        change = np.array([step.fitted_um for step in steps]) - present
        done = _line_through(z, change) if can_tilt else (float(change.mean()), 0.0)
        after = pushed(now, which, *(sign * part for part in done))
        return Move(steps, after, _shim_notes(steps, can_tilt or slope == 0))

    def _checked(self):
        if self.pushes not in PUSHES:
            raise ValueError(f"Shims push {', '.join(PUSHES)}, not {self.pushes!r}.")
        if not self.feet:
            raise ValueError("There is no foot to put shims under.")
        present = dict(self.present_um or {})
        if strange := set(present) - set(self.feet):
            raise ValueError(f"There is no foot called {sorted(strange)[0]}.")
        z = finite_array(list(self.feet.values()), "positions of the feet")
        under = [not_negative(present.get(f, 0.0), f"The shims under {f}", "µm") for f in self.feet]
        return list(self.feet), z, np.array(under), _piles(self.stock_um, self.most_shims)


def _piles(stock_um, most_shims: int) -> list[tuple[float, ...]]:
    """Every pile the shelf allows, none first, then by number of pieces."""
    stock = finite_array(list(stock_um), "stocked thicknesses")
    if not len(stock):
        raise ValueError("No shim is in stock.")
    sizes = sorted({positive(size, "A stocked thickness", "µm") for size in stock})
    most = whole(most_shims, "The number of shims on each other", 1)
    return [
        pile for count in range(most + 1) for pile in combinations_with_replacement(sizes, count)
    ]


def _shimmed(name: str, present: float, wanted: float, piles) -> ShimFoot:
    # The first of equally near piles is the one of fewest pieces.
    pile = min(piles, key=lambda pile: round(abs(sum(pile) - wanted), 9))
    return ShimFoot(name, float(present), float(wanted), float(sum(pile)), tuple(pile))


def _line_through(z: np.ndarray, lifts: np.ndarray) -> tuple[float, float]:
    design = np.column_stack([np.ones(len(z)), z / PER_MM])
    lift, slope = np.linalg.lstsq(design, lifts, rcond=None)[0]
    return float(lift), float(slope)


def _shim_notes(steps, can_tilt: bool) -> tuple[str, ...]:
    notes = [
        f"There is not enough under {step.foot} to take out; raise the other feet, or lower it "
        "by other means."
        for step in steps
        if step.wanted_um < 0
    ]
    if not can_tilt:
        notes.append("All feet stand at the same distance, so shims cannot change the tilt.")
    return tuple(notes)
