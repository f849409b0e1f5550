"""A belt's tension from what was measured at it, with the belt's own span and weight."""

from dataclasses import dataclass
from decimal import Decimal

from machines.engineering.belt_tension import span_tension_n, tension_from_deflection_n
from shop.web.errors import Refused

from .models import Belt, BeltTension

Method = BeltTension.Method


@dataclass(frozen=True)
class Measured:
    """What was measured at the span: the frequency it rings at, or the force that presses it in by
    a deflection. ``span_mm`` where the span was measured too."""

    frequency_hz: Decimal | None = None
    force_n: Decimal | None = None
    deflection_mm: Decimal | None = None
    span_mm: Decimal | None = None

    @property
    def method(self):
        return Method.FREQUENCY if self.frequency_hz is not None else Method.DEFLECTION


def worked_out(belt: Belt, measured: Measured) -> BeltTension:
    """The tension, not saved yet, with the figures it rests on.

    Raises Refused when span or weight are not known, and for figures no tension follows from.
    """
    span_mm = measured.span_mm if measured.span_mm is not None else belt.span
    if span_mm is None:
        raise Refused("The free span is not on record; type it in, or give the belt's pulleys.")
    if measured.method == Method.FREQUENCY and belt.mass_kg_per_m is None:
        raise Refused(
            "The belt's mass per metre is not on record, which the frequency needs; put it there, "
            "or measure by force and deflection."
        )
    try:
        tension_n = _tension_n(belt, measured, float(span_mm))
    except ValueError as error:
        raise Refused(str(error)) from error
    if round(tension_n, 2) < Decimal("0.01") or tension_n > 99_999:
        raise Refused(f"That would be a tension of {tension_n:.3g} N; look at the figures again.")
    return BeltTension(
        method=measured.method,
        frequency_hz=measured.frequency_hz,
        force_n=measured.force_n,
        deflection_mm=measured.deflection_mm,
        span_mm=round(Decimal(span_mm), 3),
        mass_kg_per_m=belt.mass_kg_per_m,
        tension_n=round(Decimal(tension_n), 2),
        low_n=belt.tension_low_n,
        high_n=belt.tension_high_n,
    )


def _tension_n(belt, measured, span_mm):
    if measured.method == Method.FREQUENCY:
        return span_tension_n(float(belt.mass_kg_per_m), span_mm, float(measured.frequency_hz))
    return tension_from_deflection_n(
        float(measured.force_n or 0), float(measured.deflection_mm or 0), span_mm
    )
