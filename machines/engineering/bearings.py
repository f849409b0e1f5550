"""Rolling bearings from their geometry and load: defect frequencies and basic rating life.

Vibration zones and run-out growth are in ``bearing_condition``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from .inputs import finite, not_negative, positive, whole

# ISO 281 load-life exponents: point contact and line contact.
LIFE_EXPONENTS = {"ball": 3.0, "roller": 10 / 3}

# Real bearings slip a little and a typed speed is rarely exact: peaks within 2 per cent are taken
# as the same frequency (common practice, no source).
PEAK_TOLERANCE = 0.02


@dataclass(frozen=True)
class DefectFrequencies:
    """Frequencies in Hz at which a damaged bearing knocks; the outer ring stands still.

    ``ball_spin_hz`` is one turn of a ball. A spot on a ball meets both rings in one turn, so it
    knocks at twice that; some tables print the doubled value under the same name.
    """

    outer_ring_hz: float
    inner_ring_hz: float
    ball_spin_hz: float
    cage_hz: float

    @property
    def knocks_hz(self) -> dict[str, float]:
        """What to look for in a spectrum, by the damaged part."""
        return {
            "outer ring": self.outer_ring_hz,
            "inner ring": self.inner_ring_hz,
            "ball": 2 * self.ball_spin_hz,
            "cage": self.cage_hz,
        }


@dataclass(frozen=True)
class PeakMatch:
    """A measured peak that fits a harmonic of a defect; ``deviation`` is relative to expected."""

    part: str
    harmonic: int
    expected_hz: float
    measured_hz: float

    @property
    def deviation(self) -> float:
        return self.measured_hz / self.expected_hz - 1


@dataclass(frozen=True)
class RatingLife:
    """Basic rating life: one bearing in ten is expected to fail before it.

    ``in_scope`` is false when the load is over half the dynamic rating, where ISO 281 (from
    memory) sends the user to the maker: the life is then only a rough figure.
    """

    million_turns: float
    hours: float
    in_scope: bool

    @property
    def caution(self) -> str:
        """What goes wherever the life is told; empty where it is within the standard."""
        if self.in_scope:
            return ""
        return (
            "The load is over half the dynamic rating; the life is then only a rough figure, ask "
            "the maker."
        )


@dataclass(frozen=True)
class LifeUsed:
    """Hours run against the basic rating life; ``share`` may pass 1."""

    hours_run: float
    rating: RatingLife

    @property
    def share(self) -> float:
        return self.hours_run / self.rating.hours

    @property
    def sentence(self) -> str:
        return (
            f"{self.hours_run:,.0f} of {self.rating.hours:,.0f} h, {100 * self.share:.0f} % of "
            f"the basic rating life, before which one bearing in ten fails. {self.rating.caution}"
        ).rstrip()


def defect_frequencies(
    balls: int,
    ball_diameter_mm: float,
    pitch_diameter_mm: float,
    speed_rpm: float,
    contact_angle_deg: float = 0.0,
) -> DefectFrequencies:
    """Defect frequencies of a bearing whose inner ring turns at ``speed_rpm``.

    Kinematics without slip, q = d·cos(a)/D: outer n/2(1−q), inner n/2(1+q), ball spin
    D/(2d)(1−q²), cage (1−q)/2, each times the shaft frequency. At 60 rpm the results are the
    multipliers themselves. ValueError for fewer than three balls, balls that do not fit round
    the pitch circle, an angle outside 0 to under 90°, or a speed of zero or less.
    """
    balls = whole(balls, "The number of balls", 3)
    ball = positive(ball_diameter_mm, "The ball diameter", "mm")
    pitch = positive(pitch_diameter_mm, "The pitch diameter", "mm")
    shaft_hz = positive(speed_rpm, "The speed", "rpm") / 60
    angle = finite(contact_angle_deg, "The contact angle")
    if not 0 <= angle < 90:
        raise ValueError(f"The contact angle must be from 0 to under 90°, not {angle:g}°.")
    if ball > pitch * math.sin(math.pi / balls):
        raise ValueError(
            f"{balls} balls of {ball:g} mm do not fit round a pitch circle of {pitch:g} mm."
        )
    q = ball * math.cos(math.radians(angle)) / pitch
    return DefectFrequencies(
        outer_ring_hz=shaft_hz * balls / 2 * (1 - q),
        inner_ring_hz=shaft_hz * balls / 2 * (1 + q),
        ball_spin_hz=shaft_hz * pitch / (2 * ball) * (1 - q**2),
        cage_hz=shaft_hz * (1 - q) / 2,
    )


def match_peaks(
    frequencies: DefectFrequencies,
    peaks_hz: Iterable[float],
    tolerance: float = PEAK_TOLERANCE,
    harmonics: int = 3,
) -> tuple[PeakMatch, ...]:
    """Measured peaks that fit a defect or one of its first ``harmonics``.

    ``tolerance`` is relative (0.02 is 2 %). A peak that fits two parts is given for both, the
    nearer first; no match at all is an empty tuple. ValueError for a peak of zero or less or a
    tolerance outside 0 to 0.1, beyond which everything would match.
    """
    tolerance = not_negative(tolerance, "The tolerance")
    if tolerance > 0.1:
        raise ValueError(f"The tolerance must be at most 0.1 (10 %), not {tolerance:g}.")
    harmonics = whole(harmonics, "The number of harmonics", 1)
    peaks = [positive(peak, "A measured peak", "Hz") for peak in peaks_hz]
    candidates = [
        PeakMatch(part, order, order * knock, peak)
        for peak in peaks
        for part, knock in frequencies.knocks_hz.items()
        for order in range(1, harmonics + 1)
    ]
    matches = [match for match in candidates if abs(match.deviation) <= tolerance]
    return tuple(sorted(matches, key=lambda m: (m.measured_hz, abs(m.deviation))))


def rating_life(
    dynamic_rating_n: float, equivalent_load_n: float, speed_rpm: float, kind: str = "ball"
) -> RatingLife:
    """Basic rating life by ISO 281: L10 = (C/P)^p million turns, p = 3 or 10/3.

    ``equivalent_load_n`` is the equivalent dynamic load as the catalogue defines it; ``kind`` is
    'ball' or 'roller'. ValueError for zero or negative numbers or another kind.
    """
    rating = positive(dynamic_rating_n, "The dynamic load rating", "N")
    load = positive(equivalent_load_n, "The equivalent load", "N")
    speed = positive(speed_rpm, "The speed", "rpm")
    if kind not in LIFE_EXPONENTS:
        raise ValueError(f"A bearing is of kind ball or roller, not “{kind}”.")
    million_turns = (rating / load) ** LIFE_EXPONENTS[kind]
    return RatingLife(
        million_turns=million_turns,
        hours=million_turns * 1e6 / (60 * speed),
        in_scope=load <= rating / 2,
    )


def life_used(hours_run: float, rating: RatingLife) -> LifeUsed:
    """How much of a basic rating life the hours run have used up. ValueError for negative hours."""
    return LifeUsed(not_negative(hours_run, "The hours run", "h"), rating)
