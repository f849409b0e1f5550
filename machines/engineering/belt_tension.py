"""Tension of a belt span, from how it rings or how far it gives, and whether that is wanted."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .inputs import positive


@dataclass(frozen=True)
class TensionVerdict:
    """A span tension against its wanted band; forces in N.

    ``verdict`` is 'within' or 'outside'. ``beyond_n`` is how far it lies outside: minus for too
    slack, plus for too tight, 0 within. The edges of the band are within.
    """

    tension_n: float
    low_n: float
    high_n: float
    beyond_n: float

    @property
    def verdict(self) -> str:
        return "outside" if self.beyond_n else "within"

    @property
    def sentence(self) -> str:
        band = f"{self.low_n:g} to {self.high_n:g} N"
        if not self.beyond_n:
            return f"{self.tension_n:.0f} N, within the wanted {band}."
        side = "slack" if self.beyond_n < 0 else "tight"
        beyond = abs(self.beyond_n)
        shown = f"{beyond:.0f}" if beyond >= 1 else f"{beyond:.2g}"
        return f"{self.tension_n:.0f} N, too {side} by {shown} N; wanted {band}."


def span_tension_n(mass_kg_per_m: float, span_length_mm: float, frequency_hz: float) -> float:
    """Tension in N of a span that rings at ``frequency_hz`` in its first mode: T = 4·m·L²·f².

    The ideal string (textbook physics); belt stiffness makes a short, thick span ring higher, so
    the result is an upper estimate there. ValueError for anything of zero or less.
    """
    mass = positive(mass_kg_per_m, "The belt's mass per metre", "kg/m")
    span_m = positive(span_length_mm, "The span length", "mm") / 1000
    frequency = positive(frequency_hz, "The frequency", "Hz")
    return 4 * mass * span_m**2 * frequency**2


def span_frequency_hz(mass_kg_per_m: float, span_length_mm: float, tension_n: float) -> float:
    """First natural frequency in Hz of a span under ``tension_n``; inverse of ``span_tension_n``.

    Tells what to listen for when setting a belt. ValueError for anything of zero or less.
    """
    mass = positive(mass_kg_per_m, "The belt's mass per metre", "kg/m")
    span_m = positive(span_length_mm, "The span length", "mm") / 1000
    tension = positive(tension_n, "The tension", "N")
    return math.sqrt(tension / mass) / (2 * span_m)


def tension_from_deflection_n(force_n: float, deflection_mm: float, span_length_mm: float) -> float:
    """Tension in N of a span that gives ``deflection_mm`` at mid-span under ``force_n``.

    Balance of forces at the pressed point, 2·T·sin a = F with tan a = 2·d/L; the belt's own
    stretch is left out. For the usual d = L/64 this is the handbooks' T = 16·F. ValueError for
    anything of zero or less, or a deflection beyond a tenth of the span, where stretch rules.
    """
    force = positive(force_n, "The force", "N")
    deflection = positive(deflection_mm, "The deflection", "mm")
    span = positive(span_length_mm, "The span length", "mm")
    if deflection > span / 10:
        raise ValueError(
            f"A deflection of {deflection:g} mm is more than a tenth of the {span:g} mm span; "
            f"press about {span / 64:.1f} mm (a sixty-fourth of the span)."
        )
    return force * math.hypot(span, 2 * deflection) / (4 * deflection)


def tension_verdict(tension_n: float, low_n: float, high_n: float) -> TensionVerdict:
    """Hold a tension against the wanted band ``low_n`` to ``high_n``.

    ValueError for a tension or limit of zero or less, or a band upside down.
    """
    tension = positive(tension_n, "The tension", "N")
    low = positive(low_n, "The lower limit", "N")
    high = positive(high_n, "The upper limit", "N")
    if low > high:
        raise ValueError(f"The wanted band is upside down: {low:g} N is above {high:g} N.")
    beyond = min(tension - low, 0.0) or max(tension - high, 0.0)
    return TensionVerdict(tension, low, high, beyond)
