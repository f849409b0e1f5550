"""Sweeps as a person would type them: what an indicator shows, in the steps of its dial."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

import numpy as np

from alignment.sweeps.measuring import TypedReading, TypedSweep, indicator_facts
from alignment.sweeps.models import Indicator
from shop.lengths import format_length, parse_length

# No bore is quite round, and no hand sweeps twice alike.
LOBES_UM = 0.3
HAND_UM = 0.25


@dataclass(frozen=True)
class Dial:
    """A test indicator as its record says: the step that can be read off it, the places in which
    that is written, and the error its certificate states."""

    unit: str
    step_um: Decimal
    places: int
    serial: str
    step: str
    error: str


DIALS = {
    "mm": Dial("mm", Decimal("1"), 3, "L-2041", "0.001", "0.001"),
    "in": Dial("in", Decimal("1.27"), 5, "L-0877", ".00005", ".00005"),
}


def shown_um(offset_um, surface, angles_deg, rng):
    """What an indicator zeroed at the first angle shows at each, in µm; (n,) floats.

    In a bore r = −e·u(θ), on a boss r = +e·u(θ), with u(θ) = (sin θ, cos θ); three lobes and the
    hand come on top.
    """
    theta = np.radians(angles_deg)
    pure = np.sin(theta) * offset_um[0] + np.cos(theta) * offset_um[1]
    lobes = LOBES_UM * np.cos(3 * theta + rng.uniform(0, 2 * np.pi))
    shown = (pure if surface == "boss" else -pure) + lobes + rng.normal(0, HAND_UM, theta.shape)
    return shown - shown[0]


def enter_indicators(firm, today):
    """The firm's two lever indicators; the inch one's calibration has just run out."""
    for unit, dial in DIALS.items():
        due = today + timedelta(days=200 if unit == "mm" else -12)
        Indicator.objects.create(
            firm=firm,
            name=f"lever indicator, {'metric' if unit == 'mm' else 'inch'}",
            serial=dial.serial,
            unit=unit,
            resolution_um=parse_length(dial.step, unit),
            resolution_typed=dial.step,
            error_um=parse_length(dial.error, unit),
            error_typed=dial.error,
            calibrated_on=due - timedelta(days=365),
            calibration_due=due,
        )


def typed_sweep(offset_um, surface, indicator, rng, points=4, z_mm=None):
    """A `TypedSweep` of an axis at `offset_um`, rounded to the dial's steps and written out."""
    unit = indicator.unit
    dial = DIALS[unit]
    angles_deg = np.arange(points) * 360.0 / points
    readings = [
        _reading(angle, shown, dial)
        for angle, shown in zip(
            angles_deg, shown_um(offset_um, surface, angles_deg, rng), strict=True
        )
    ]
    return TypedSweep(
        surface=surface,
        unit=unit,
        readings=tuple(readings),
        z_mm=z_mm,
        **indicator_facts(indicator),
    )


def _reading(angle_deg, shown, dial):
    steps = round(float(shown) / float(dial.step_um))
    typed = format_length(steps * dial.step_um, dial.unit, places=dial.places)
    if dial.unit == "in":
        typed = typed.replace("0.", ".")
    return TypedReading(float(angle_deg), typed, dial.unit, parse_length(typed, dial.unit))
