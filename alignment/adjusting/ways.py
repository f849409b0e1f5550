"""From a station's way of adjusting, as stored, to a planned move and its steps in words."""

from dataclasses import dataclass

from alignment.geometry.adjust.move import (
    ControlOffset,
    FreeShift,
    KeyedAxis,
    KeyIn,
    Move,
    Place,
    Shift,
)
from alignment.geometry.adjust.screws import JackScrews, ScrewTurn
from alignment.geometry.adjust.shims import ShimFoot, ShimmedFeet
from alignment.sheets.directions import WORDS, movers_of, place_words, way_words
from alignment.sheets.models import view_of
from shop.lengths import format_length
from shop.web.wording import clock_position

from .models import AdjustingWay

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
    AdjustingWay.Kind.CONTROL: {"front", "up"},
}
EXAMPLES = {
    AdjustingWay.Kind.SHIFT: "{}",
    AdjustingWay.Kind.SCREWS: '{"radius_mm": 60, "angles_deg": [0, 120, 240], "pitch_mm": 1}',
    AdjustingWay.Kind.SHIMS: '{"feet": {"near": 0, "far": 200}, "stock_um": [10, 20, 50]}',
    AdjustingWay.Kind.CONTROL: '{"front": {"letter": "X1", "sign": 1, "diameter": true}}',
}


@dataclass(frozen=True)
class Step:
    """One thing to do, in words, and how much."""

    what: str
    how_much: str


@dataclass(frozen=True)
class Plan:
    """What to do by one way of adjusting, or why it cannot be planned.

    notes: what the steps leave, in words.
    """

    way: AdjustingWay
    move: Move | None = None
    steps: tuple[Step, ...] = ()
    notes: tuple[str, ...] = ()
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
        return _WAYS[kind](settings, record)
    except (TypeError, AttributeError, KeyError) as error:
        raise ValueError(f"Expected settings such as {EXAMPLES[kind]}.") from error


def _screws(settings, record):
    """A way that is not on record yet has no station, and no view to have its front in."""
    hand = {"front_at": view_of(record.station).front_at} if record.station_id else {}
    return JackScrews(**settings, **hand)


def _control(settings, _record):
    return ControlOffset(**{side: KeyedAxis(**axis) for side, axis in settings.items()})


_WAYS = {
    AdjustingWay.Kind.SHIFT: lambda settings, record: FreeShift(),
    AdjustingWay.Kind.SCREWS: _screws,
    AdjustingWay.Kind.SHIMS: lambda settings, record: ShimmedFeet(**settings),
    AdjustingWay.Kind.CONTROL: _control,
}


def planned(way, *, front_um, up_um, slopes=(0.0, 0.0)):
    """The `Move` that brings a station from where it stands to no offset and no tilt.

    Raises ValueError for settings that allow no plan, whatever their kind.
    """
    try:
        return way.plan(Place(front_um, up_um, *slopes))
    except TypeError as error:
        raise ValueError("A setting is not a number where one is expected.") from error


def plan(record, place, unit):
    """The `Plan` of one stored way for a station standing at `place`; never raises."""
    try:
        move = way_of(record).plan(place)
    except (ValueError, TypeError) as error:
        return Plan(record, problem=str(error))
    movers = movers_of(record.station)
    steps = tuple(_WORDS[type(step)](step, unit, movers) for step in move.steps)
    return Plan(record, move, steps, (*_left(record, move, unit), *move.notes))


def _left(record, move, unit):
    """What stays of offset and tilt once the steps are rounded to what the hand can do."""
    after, tilts = move.after, AdjustingWay.Kind.SCREWS
    lean = place_words(after.slope_front_um_per_100mm, after.slope_up_um_per_100mm, unit)
    if record.kind == tilts:
        yield (
            f"After these turns it still leans {lean} per 100 mm, going away from the headstock."
            if lean
            else "After these turns no tilt is left."
        )
    elif offset := place_words(after.front_um, after.up_um, unit):
        yield f"After this it still stands {offset}."


def _length(value_um, unit, **how):
    return format_length(value_um, unit, with_unit=True, **how)


def _shift(step: Shift, unit, movers):
    way = way_words(step.front_um, step.up_um, unit, movers)
    return Step("Shift the casting", way or "nothing to shift")


def _turn(step: ScrewTurn, unit, _movers):
    screw = f"Screw at {clock_position(step.angle_deg)} o'clock"
    if step.way == "leave":
        return Step(screw, "leave as it is")
    towards = WORDS["towards" if step.height_um > 0 else "away"]
    return Step(
        screw,
        f"{abs(step.turn_deg):.0f}° {step.way}: {_length(abs(step.height_um), unit)} {towards}",
    )


def _shim(step: ShimFoot, unit, _movers):
    pieces = " + ".join(_length(piece, unit) for piece in step.pieces) or "no shim"
    return Step(
        f"Foot {step.foot}",
        f"{pieces}, in place of {_length(step.present_um, unit)} "
        f"(wanted {_length(step.wanted_um, unit)})",
    )


def _key_in(step: KeyIn, unit, _movers):
    return Step(f"Offset of {step.axis}", f"add {_length(step.add_um, unit, signed=True)}")


_WORDS = {Shift: _shift, ScrewTurn: _turn, ShimFoot: _shim, KeyIn: _key_in}


LABELS = {
    "radius_mm": "Circle's radius in mm",
    "angles_deg": "Screws at, degrees",
    "pitch_mm": "Pitch in mm",
    "clockwise_pushes": "A clockwise turn moves it",
    "plane_mm": "Screws' plane, mm from the swept plane, away from the headstock",
    "hold": "Screw held still",
    "least_turn_deg": "Least turn in degrees",
    "feet": "Feet, mm from the swept plane",
    "stock_um": "Shims in stock, µm",
    "present_um": "Shims there now, µm",
    "pushes": "A thicker shim moves it",
    "most_shims": "Shims on each other at most",
    "front": "To the front",
    "up": "Up",
}


def setting_words(settings):
    """(label, value in words) pairs of a way's settings."""
    return [
        (LABELS[name], f"number {value + 1}" if name == "hold" else _value_words(value))
        for name, value in settings.items()
        if value is not None
    ]


def _value_words(value):
    if isinstance(value, dict) and "letter" in value:
        sign = "+" if value.get("sign", 1) > 0 else "−"
        on = ", on the diameter" if value.get("diameter") else ", on the radius"
        return f"{value['letter']}{sign}{on}"
    if isinstance(value, dict):
        return ", ".join(f"{name} {_value_words(part)}" for name, part in value.items())
    if isinstance(value, list):
        return ", ".join(map(_value_words, value))
    return f"{value:g}" if isinstance(value, float) else str(value)
