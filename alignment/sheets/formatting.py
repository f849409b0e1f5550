"""What a page says of a sweep that was worked out: figures in words, hints, the move to make."""

import math
import re
from dataclasses import dataclass
from urllib.parse import urlencode

from alignment.geometry.frame import OPPOSITE
from alignment.geometry.measure.quantity import (
    BOW_FRONT,
    BOW_UP,
    FRONT,
    RUNOUT_FAR,
    RUNOUT_NEAR,
    TILT,
    TILT_FRONT,
    TILT_UP,
    UP,
)
from alignment.geometry.measure.verdict import Rule
from shop.lengths import COUNTS, format_length
from shop.rounding import rounded

from .directions import WORDS, figure_shown, movers_of, plus_of, short_way, way_shown

# Where a tolerance would stand of what is swept for the record.
NO_LIMIT = "no limit"
# A length typed without its unit.
BARE_NUMBER = re.compile(r"[-+−.,/\d\s]+")
# About a tenth of a micrometre or less in each unit: of rates and forecasts, which are told by
# their intervals.
UNCERTAINTY_PLACES = {"in": 6, "mm": 4, "um": 2}
# Inches nearer than this to two decimals are meant as such.
ROUND_INCH = 1e-6
SURFACE_WORDS = {
    ("face", TILT): "Squareness",
    ("face", TILT_FRONT): "Squareness, sideways",
    ("face", TILT_UP): "Squareness, in height",
    ("bar", TILT): "Parallelism",
    ("bar", TILT_FRONT): "Parallelism, sideways",
    ("bar", TILT_UP): "Parallelism, in height",
    ("bar", RUNOUT_NEAR): "Bar runs out, near",
    ("bar", RUNOUT_FAR): "Bar runs out, far",
    ("bar", BOW_FRONT): "Straight sideways",
    ("bar", BOW_UP): "Straight in height",
    ("flat", UP): "Centre height",
    ("flat", FRONT): "Centre position",
}
FIGURE_WORDS = {
    FRONT: "Offset to the front or rear",
    UP: "Offset up or down",
    TILT_FRONT: "Tilt to the front or rear",
    TILT_UP: "Tilt up or down",
}
# What the guard band of a verdict is, by the rule that was chosen.
RULES = {
    Rule.ONE_SIDED: "95 % one-sided, the default of ISO 14253-1",
    Rule.EXPANDED: "the expanded uncertainty, k about 2",
}
# The picture's address carries this many decimals of a micrometre.
PLACES_UM = 4


@dataclass(frozen=True)
class Figure:
    """One computed figure as it stands on a page."""

    label: str
    value: str
    note: str = ""
    main: bool = False


def stated_error(error_um, travel_um, show):
    """An indicator's stated error in words: of its whole range, or per travel; ``show`` writes a
    length."""
    said = f"± {show(error_um)}"
    return said if travel_um is None else f"{said} per {show(travel_um)} of travel"


def length(value_um, unit, *, signed=False, places=None):
    """A computed length as text, a word where it is not known."""
    if value_um is None or not math.isfinite(value_um):
        return "not known"
    return format_length(value_um, unit, signed=signed, places=places, with_unit=True)


def uncertainty(value_um, unit):
    """A computed uncertainty as text, to its first digit (JCGM 100:2008, 7.2.6)."""
    return rounded(value_um, unit, u_um=value_um)


def contribution(value_um, unit):
    """A part of an uncertainty as text, to two digits, so that parts can be added up."""
    return rounded(value_um, unit, u_um=value_um and value_um / 10)


def unit_beside(typed, unit):
    """What a typed length counted in, "" where it was typed along."""
    return COUNTS[unit] if BARE_NUMBER.fullmatch(typed) else ""


def as_typed(typed, unit):
    """A length as it was typed, with the unit it was taken in."""
    return f"{typed} {unit_beside(typed, unit)}".rstrip()


def tolerance_of(record):
    """The size a figure of an item or a check is held to in µm, None where nothing limits it."""
    return max((abs(float(um)) for um in record.limits_um if um is not None), default=None)


def stated(value_um, unit, record, *, per=True):
    """A figure as a sheet states it, digit for digit, in the words of `measure`."""

    def show(um):
        return format_length(um, unit, with_unit=True)

    return _figure(value_um, unit, record, show, WORDS, per)


def measure(value_um, unit, record, *, places=None, words=WORDS, per=True):
    """A figure of an item or a check as text, as finely as it is known or to so many places: with
    its direction where it has one, never with a sign besides, and per its stated length where it
    is a tilt.

    record: the item or the check. words: those of `directions`. per: False where that length stands
    beside it.
    """
    return _figure(value_um, unit, record, _shown_by(unit, record, places), words, per)


def _figure(value_um, unit, record, show, words, per):
    if value_um is None or not math.isfinite(value_um):
        return length(value_um, unit)
    item = getattr(record, "item", record)
    return figure_shown(
        value_um,
        item.quantity,
        show,
        per=per_words(record.per_mm, unit) if record.is_tilt and per else "",
        words=words,
    )


def _shown_by(unit, record, places):
    """What writes a figure of an item or a check."""
    if places is not None:
        return lambda um: format_length(um, unit, places=places, with_unit=True)
    u_um, tolerance_um = getattr(record, "expanded_um", None), tolerance_of(record)
    return lambda um: rounded(um, unit, u_um=u_um, tolerance_um=tolerance_um)


def per_words(per_mm, unit):
    """The length that a tilt is stated for; in inches where that is a round figure."""
    inches = float(per_mm) / 25.4
    if unit == "in" and abs(inches - round(inches, 2)) < ROUND_INCH:
        return f"per {round(inches, 2):g} in"
    return f"per {float(per_mm):g} mm"


def quantity_words(item):
    """What is measured, by the trade's word for it on this surface."""
    return (
        SURFACE_WORDS.get((item.surface, item.quantity))
        or FIGURE_WORDS.get(item.quantity)
        or capitalised(item.get_quantity_display())
    )


def capitalised(text):
    return text[:1].upper() + text[1:]


def limits(record, unit):
    """The limits of an item or a check in words, with the direction that alone is allowed."""
    item = getattr(record, "item", record)
    lower_um, upper_um = record.limits_um
    if lower_um is None and upper_um is None:
        return NO_LIMIT
    text = limits_between(lower_um, upper_um, unit, item.quantity)
    if record.is_tilt:
        text = f"{text}, {per_words(record.per_mm, unit)}"
    if record.at_mm is not None:
        text = f"{text} at {float(record.at_mm):g} mm"
    if record.nominal_um:
        text = f"{text}, about {nominal(record, unit)} from the axis"
    return f"{text}, of its free end" if plus_of(item.quantity) and item.surface == "bar" else text


def nominal(record, unit):
    """How far a flat should stand from the axis, and which way."""
    return stated(record.nominal_um, unit, record, per=False)


def limits_between(lower, upper, unit, quantity):
    """A lower and an upper limit of a figure in words; one of them or both may be None."""
    if lower is None and upper is None:
        return NO_LIMIT
    if plus_of(quantity) and lower != (upper and -upper):
        return _limits_with_ways(lower, upper, unit, quantity)
    if lower is None:
        return f"up to {_limit(upper, unit)}"
    if upper is None:
        return f"from {_limit(lower, unit)}"
    if lower == -upper:
        return f"± {_limit(upper, unit)}"
    return f"{_limit(lower, unit)} to {_limit(upper, unit)}"


def _limits_with_ways(lower, upper, unit, quantity):
    """Limits that are not the same to both sides, each told with its way."""
    plus = plus_of(quantity)
    ways = WORDS[plus], WORDS[OPPOSITE[plus]]
    if lower is not None and lower >= 0:
        return _one_way(lower, upper, unit, ways[0])
    if upper is not None and upper <= 0:
        return _one_way(-upper, None if lower is None else -lower, unit, ways[1])
    ends = ((lower and -lower, ways[1]), (upper, ways[0]))
    told = [f"{_limit(um, unit)} {way}" for um, way in ends if um is not None]
    return f"at most {' or '.join(told)}"


def _one_way(least, most, unit, way):
    if most is None:
        return f"at least {_limit(least, unit)} {way}" if least else f"{way} only"
    return f"{_limit(least, unit)} to {_limit(most, unit)} {way} only"


def _limit(value_um, unit):
    return format_length(value_um, unit, with_unit=True)


def sweep_words(sweep, number=None):
    """Which of a check's sweeps this is: its number, its plane, its side."""
    words = [f"Sweep {number}"] if number else []
    if sweep.z_mm is not None:
        words.append(f"plane at {float(sweep.z_mm):g} mm")
    if sweep.side:
        words.append(f"bar {sweep.get_side_display()}{', turned' if sweep.turned else ''}")
    if sweep.diameter_um is not None:
        words.append("on the bar as it turned")
    elif sweep.surface == "flat":
        words.append("along the flat")
    return ", ".join(words)


def place_words(reading):
    """Where a reading was taken: along a bar, along a flat, or at a clock position."""
    if reading.z_mm is not None:
        return f"{float(reading.z_mm):g} mm"
    return f"{reading.place}" if reading.place else f"{reading.angle_deg:g}°"


def can_move(item):
    """Whether a move can bring what an item asks for to nothing: of an offset from a datum."""
    return not (item.is_tilt or item.station.datum_id is None or item.closes_a_loop)


def move(item, measured, show):
    """How far the station would have to go to run true, in words; "" where it does, or where it
    is no offset that is asked for.

    show: what turns µm into text. An axis is named where it moves the station; one query.
    """
    if measured.bar or not can_move(item):
        return ""
    return way_shown(-measured.front_um, -measured.up_um, show, movers_of(item.station))


def short_move(item, measured, show):
    """The same for a narrow place, such as "0.0007 front (X2+), 0.0004 down"; the unit stands
    there already."""
    if measured.bar or not can_move(item):
        return ""
    return short_way(-measured.front_um, -measured.up_um, show, movers_of(item.station))


def picture_query(place, phase, unit):
    """Where something stands, as `alignment.sweeps.pictures.place_of` gives it, for the address of
    its picture."""
    query = {"phase": phase, "unit": unit}
    if hasattr(place, "z_mm"):
        points = zip(place.z_mm, place.front_um, place.up_um, strict=True)
        query["line"] = ",".join(":".join(map(_short, point)) for point in points)
        return urlencode(query)
    query |= {
        "front": _short(place.front_um),
        "up": _short(place.up_um),
        "verdict": place.verdict,
        "residuals": ",".join(f"{angle:g}:{_short(left)}" for angle, left in place.residuals),
    }
    if place.covariance_um2 is not None:
        (ff, fu), (_, uu) = place.covariance_um2
        query |= {"covariance": ",".join(_short(part) for part in (ff, fu, uu))}
        query |= {} if math.isinf(place.dof) else {"dof": f"{place.dof:g}"}
    return urlencode(query)


def _short(value):
    text = f"{value:.{PLACES_UM}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text
