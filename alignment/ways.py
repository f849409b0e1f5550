"""From a station's way of adjusting, as stored, to a planned move and its steps in words."""

from dataclasses import dataclass

from alignment.geometry.move import (
    ControlOffset,
    FreeShift,
    KeyedAxis,
    KeyIn,
    Move,
    Place,
    Shift,
)
from alignment.geometry.screws import JackScrews, ScrewTurn
from alignment.geometry.shims import ShimFoot, ShimmedFeet
from shop.lengths import format_length
from shop.wording import clock_position

from .models.ways import AdjustingWay

KNOWN = {
    AdjustingWay.Kind.SHIFT: set(),
    AdjustingWay.Kind.SCREWS: {
        "radius_mm",
        "angles_deg",
        "pitch_mm",
        "clockwise_pushes",
        "plane_mm",
        "hold",
        "least_turn_deg",
    },
    AdjustingWay.Kind.SHIMS: {"feet", "stock_um", "present_um", "pushes", "most_shims"},
    AdjustingWay.Kind.CONTROL: {"right", "up"},
}
EXAMPLES = {
    AdjustingWay.Kind.SHIFT: "{}",
    AdjustingWay.Kind.SCREWS: '{"radius_mm": 60, "angles_deg": [0, 120, 240], "pitch_mm": 1}',
    AdjustingWay.Kind.SHIMS: '{"feet": {"near": 0, "far": 200}, "stock_um": [10, 20, 50]}',
    AdjustingWay.Kind.CONTROL: '{"right": {"letter": "X1", "sign": 1, "diameter": true}}',
}


@dataclass(frozen=True)
class Step:
    """One thing to do, in words, and how much."""

    what: str
    how_much: str


@dataclass(frozen=True)
class Plan:
    """What to do by one way of adjusting, or why it cannot be planned."""

    way: AdjustingWay
    move: Move | None = None
    steps: tuple[Step, ...] = ()
    problem: str = ""


def way_of(record):
    """The pure way of adjusting that a stored one describes.

    Raises ValueError, with an example, for settings that are missing, unknown or of a wrong kind.
    """
    kind, settings = record.kind, record.settings or {}
    if not isinstance(settings, dict):
        raise ValueError(f"Expected settings such as {EXAMPLES[kind]}.")
    if strange := set(settings) - KNOWN[kind]:
        raise ValueError(
            f"'{sorted(strange)[0]}' is not a setting of this way. "
            f"Expected settings such as {EXAMPLES[kind]}."
        )
    try:
        return _WAYS[kind](settings)
    except (TypeError, AttributeError, KeyError) as error:
        raise ValueError(f"Expected settings such as {EXAMPLES[kind]}.") from error


def _control(settings):
    return ControlOffset(**{side: KeyedAxis(**axis) for side, axis in settings.items()})


_WAYS = {
    AdjustingWay.Kind.SHIFT: lambda settings: FreeShift(),
    AdjustingWay.Kind.SCREWS: lambda settings: JackScrews(**settings),
    AdjustingWay.Kind.SHIMS: lambda settings: ShimmedFeet(**settings),
    AdjustingWay.Kind.CONTROL: _control,
}


def planned(way, *, right_um, up_um, slopes=(0.0, 0.0)):
    """The `Move` that brings a station from where it stands to no offset and no tilt.

    Raises ValueError for settings that allow no plan, whatever their kind.
    """
    try:
        return way.plan(Place(right_um, up_um, *slopes))
    except TypeError as error:
        raise ValueError("A setting is not a number where one is expected.") from error


def plan(record, place, unit):
    """The `Plan` of one stored way for a station standing at `place`; never raises."""
    try:
        move = way_of(record).plan(place)
    except (ValueError, TypeError) as error:
        return Plan(record, problem=str(error))
    return Plan(record, move, tuple(_in_words(step, unit) for step in move.steps))


def _in_words(step, unit):
    return _WORDS[type(step)](step, unit)


def _length(value_um, unit, **how):
    return format_length(value_um, unit, with_unit=True, **how)


def _shift(step: Shift, unit):
    parts = [
        f"{_length(abs(value), unit)} {plus if value > 0 else minus}"
        for value, plus, minus in (
            (step.right_um, "right", "left"),
            (step.up_um, "up", "down"),
        )
        if value
    ]
    towards = f"towards {clock_position(step.clock_deg)} o'clock"
    amount = f"{_length(step.distance_um, unit)} {towards}" if step.distance_um else "nothing"
    return Step("Shift the casting", f"{amount}: {' and '.join(parts)}" if parts else amount)


def _turn(step: ScrewTurn, unit):
    screw = f"Screw at {clock_position(step.angle_deg)} o'clock"
    if step.way == "leave":
        return Step(screw, "leave as it is")
    return Step(screw, f"{abs(step.turn_deg):.0f}° {step.way} ({_length(step.height_um, unit)})")


def _shim(step: ShimFoot, unit):
    pieces = " + ".join(_length(piece, unit) for piece in step.pieces) or "no shim"
    return Step(
        f"Foot {step.foot}",
        f"{pieces}, in place of {_length(step.present_um, unit)} "
        f"(wanted {_length(step.wanted_um, unit)})",
    )


def _key_in(step: KeyIn, unit):
    return Step(f"Offset of {step.axis}", f"add {_length(step.add_um, unit, signed=True)}")


_WORDS = {Shift: _shift, ScrewTurn: _turn, ShimFoot: _shim, KeyIn: _key_in}


LABELS = {
    "radius_mm": "Circle's radius in mm",
    "angles_deg": "Screws at, degrees",
    "pitch_mm": "Pitch in mm",
    "clockwise_pushes": "Clockwise pushes",
    "plane_mm": "Screws' plane in mm",
    "hold": "Screw left alone",
    "least_turn_deg": "Least turn in degrees",
    "feet": "Feet, mm from the swept plane",
    "stock_um": "Shims in stock, µm",
    "present_um": "Shims there now, µm",
    "pushes": "A thicker shim moves it",
    "most_shims": "Shims on each other at most",
    "right": "To the right",
    "up": "Up",
}


def setting_words(settings):
    """(label, value in words) pairs of a way's settings."""
    return [(LABELS[name], _value_words(value)) for name, value in settings.items()]


def _value_words(value):
    if isinstance(value, dict) and "letter" in value:
        sign = "+" if value.get("sign", 1) > 0 else "−"
        on = ", on the diameter" if value.get("diameter") else ""
        return f"{value['letter']}{sign}{on}"
    if isinstance(value, dict):
        return ", ".join(f"{name} {_value_words(part)}" for name, part in value.items())
    if isinstance(value, list):
        return ", ".join(map(_value_words, value))
    return f"{value:g}" if isinstance(value, float) else str(value)
