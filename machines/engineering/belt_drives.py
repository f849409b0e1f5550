"""Two-pulley synchronous drives: pitch lengths, centre distance, teeth in mesh, and the ratio of a
path of several drives."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from scipy.optimize import brentq

from .belts import FEWEST_BELT_TEETH
from .inputs import positive, whole

# Fewest teeth of the smaller pulley that should carry the load at once (common practice, from
# memory; belts are rated with at least six teeth in mesh).
ENOUGH_TEETH_IN_MESH = 6
FEWEST_PULLEY_TEETH = 6


@dataclass(frozen=True)
class DriveGeometry:
    """An open belt round two pulleys; lengths in mm along the pitch line.

    ``span_length_mm`` is the free length between the pulleys, the one that is plucked or pressed
    when the tension is measured.
    """

    pitch_length_mm: float
    small_diameter_mm: float
    large_diameter_mm: float
    centre_distance_mm: float
    span_length_mm: float
    teeth_in_mesh: float

    @property
    def enough_teeth_in_mesh(self) -> bool:
        return self.teeth_in_mesh >= ENOUGH_TEETH_IN_MESH


@dataclass(frozen=True)
class TurnsRatio:
    """Turns of the far end for one turn of the near end, exact, and whether that is 1:1."""

    turns: Fraction
    sentence: str

    @property
    def in_step(self) -> bool:
        return self.turns == 1


def pitch_length_mm(teeth: int, pitch_mm: float) -> float:
    """Pitch length of a belt in mm. ValueError for too few teeth or a pitch of zero or less."""
    teeth = whole(teeth, "The number of belt teeth", FEWEST_BELT_TEETH)
    return teeth * positive(pitch_mm, "The belt pitch", "mm")


def pitch_diameter_mm(teeth: int, pitch_mm: float) -> float:
    """Pitch diameter of a pulley in mm, z·p/π. ValueError as for ``pitch_length_mm``."""
    teeth = whole(teeth, "The number of pulley teeth", FEWEST_PULLEY_TEETH)
    return teeth * positive(pitch_mm, "The belt pitch", "mm") / math.pi


def drive_geometry(
    belt_teeth: int, pulley_teeth: tuple[int, int], pitch_mm: float
) -> DriveGeometry:
    """The ``DriveGeometry`` of a belt of ``belt_teeth`` on two pulleys, in either order.

    The centre distance solves the exact length equation by iteration; handbooks give the
    approximation C = K + √(K² − (d2−d1)²/8), K = L/4 − 0.392699(d1+d2), a few µm off in ordinary
    drives. ValueError when the belt is too short for the pulleys.
    """
    small, large = _diameters(pulley_teeth, pitch_mm)
    length = pitch_length_mm(belt_teeth, pitch_mm)
    centre = _centre_distance(length, small, large)
    lean = math.asin((large - small) / (2 * centre))
    return DriveGeometry(
        pitch_length_mm=length,
        small_diameter_mm=small,
        large_diameter_mm=large,
        centre_distance_mm=centre,
        span_length_mm=centre * math.cos(lean),
        teeth_in_mesh=min(pulley_teeth) * (0.5 - lean / math.pi),
    )


def overall_ratio(
    path: Sequence[tuple[int, int]], near: str = "main spindle", far: str = "guide bushing"
) -> TurnsRatio:
    """Ratio of a path of drives, each (driving teeth, driven teeth), from ``near`` to ``far``.

    Exact as a Fraction; the sentence says plainly when the two ends do not turn in step. An empty
    path is one shaft. ValueError for a pulley with too few teeth.
    """
    turns = Fraction(1)
    for driving, driven in path:
        driving = whole(driving, "The number of pulley teeth", FEWEST_PULLEY_TEETH)
        driven = whole(driven, "The number of pulley teeth", FEWEST_PULLEY_TEETH)
        turns *= Fraction(driving, driven)
    return TurnsRatio(turns, _ratio_sentence(turns, near, far))


def _ratio_sentence(turns: Fraction, near: str, far: str) -> str:
    if turns == 1:
        return f"The {far} turns in step with the {near} (1:1)."
    return (
        f"The {far} does not turn in step with the {near}: {turns.numerator} turns "
        f"for every {turns.denominator} of the {near}. It must be 1:1; check the pulleys."
    )


def _diameters(pulley_teeth: tuple[int, int], pitch_mm: float) -> tuple[float, float]:
    return tuple(sorted(pitch_diameter_mm(teeth, pitch_mm) for teeth in pulley_teeth))


def _open_belt_length(centre: float, small: float, large: float) -> float:
    lean = math.asin((large - small) / (2 * centre))
    return 2 * centre * math.cos(lean) + math.pi * (small + large) / 2 + lean * (large - small)


def _centre_distance(length: float, small: float, large: float) -> float:
    touching = (small + large) / 2
    if length <= _open_belt_length(touching, small, large):
        raise ValueError(
            f"A belt of {length:g} mm is too short for these pulleys: even with the pulleys "
            f"touching it must be longer than {_open_belt_length(touching, small, large):.1f} mm."
        )
    # The length grows steadily with the centre distance, so one root lies in the bracket.
    return brentq(
        lambda centre: _open_belt_length(centre, small, large) - length,
        touching,
        length / 2,
        xtol=1e-10,
    )
