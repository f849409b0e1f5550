"""What a page says of a sweep that was worked out: figures in words, hints, the move to make."""

import math
import re
from dataclasses import dataclass
from urllib.parse import urlencode

from alignment.figures.positions import clock_words
from alignment.geometry.quantity import OFFSET, RIGHT, TIR, UP
from shop.lengths import UNIT_SYMBOLS, format_length

from .axes import axis_names
from .services import COVERAGE

# A length typed without its unit.
BARE_NUMBER = re.compile(r"[-+−.,\d\s]+")
# About a tenth of a micrometre or less in each unit.
UNCERTAINTY_PLACES = {"in": 6, "mm": 4, "um": 2}
# The picture's address carries this many decimals of a micrometre.
PLACES_UM = 4


@dataclass(frozen=True)
class Figure:
    """One computed figure as it stands on a page."""

    label: str
    value: str
    note: str = ""
    main: bool = False


def length(value_um, unit, *, signed=False, places=None):
    """A computed length as text, a word where it is not known."""
    if value_um is None or not math.isfinite(value_um):
        return "not known"
    return format_length(value_um, unit, signed=signed, places=places, with_unit=True)


def uncertainty(value_um, unit):
    """A computed uncertainty as text, to a place more than a length where that says more."""
    return length(value_um, unit, places=UNCERTAINTY_PLACES[unit])


def unit_beside(typed, unit):
    """The unit a typed length was taken in, "" where it was typed along."""
    return UNIT_SYMBOLS[unit] if BARE_NUMBER.fullmatch(typed) else ""


def as_typed(typed, unit):
    """A length as it was typed, with the unit it was taken in."""
    return f"{typed} {unit_beside(typed, unit)}".rstrip()


def limits(record, unit):
    """The limits of an item or a check in words."""
    lower, upper = record.lower_um, record.upper_um
    if lower is None:
        return f"up to {_limit(upper, unit)}"
    if upper is None:
        return f"from {_limit(lower, unit)}"
    if lower == -upper:
        return f"± {_limit(upper, unit)}"
    return f"{_limit(lower, unit)} to {_limit(upper, unit)}"


def _limit(value_um, unit):
    return format_length(value_um, unit, with_unit=True)


def figures(item, fit, value_um, u_um, unit, axes):
    """The `Figure`s of a fitted sweep, the one held against the limits first.

    axes: the axes of the item's machine.
    """
    names = axis_names(item.station, axes)
    expanded = None if u_um is None else COVERAGE * u_um
    plain = {
        OFFSET: Figure("Offset", length(fit.offset_um, unit), _towards(fit)),
        RIGHT: Figure("Right", length(fit.right_um, unit, signed=True), names.right),
        UP: Figure("Up", length(fit.up_um, unit, signed=True), names.up),
        TIR: Figure("TIR", length(fit.tir_um, unit), "highest less lowest"),
    }
    same = plain.pop(item.quantity)
    held = Figure(
        item.get_quantity_display().capitalize(),
        length(value_um, unit, signed=item.quantity in (RIGHT, UP)),
        f"± {uncertainty(expanded, unit)} (U, k = {COVERAGE:g}), {same.note}".removesuffix(", "),
        main=True,
    )
    return [
        held,
        *plain.values(),
        Figure("Closure", *_closure(fit, unit)),
        Figure("Form left over", length(fit.form_um, unit), "what no offset explains"),
        Figure("Uncertainty u", uncertainty(u_um, unit), _where_u_comes_from(fit)),
    ]


def _towards(fit):
    return f"towards {clock_words(fit.clock_deg)}" if fit.offset_um else "no direction"


def _closure(fit, unit):
    if fit.closure_um is None:
        return "–", "needs 0°, 90°, 180° and 270°"
    return length(fit.closure_um, unit, signed=True), "(0° + 180°) − (90° + 270°)"


def _where_u_comes_from(fit):
    if fit.dof_u == 0:
        return "three readings do not tell"
    if math.isinf(fit.dof_u):
        return "from the uncertainty of one reading"
    return "from the scatter of the readings"


def hints(item, fit, stated_u_um):
    """What the person should know before trusting a fitted sweep, as sentences.

    stated_u_um: the uncertainty of one reading as typed, zero where none was. Four readings of
    that uncertainty give a closure of twice it (JCGM 100:2008, 5.1.2); beyond the coverage factor
    the sweep went wrong.
    """
    said = []
    if fit.dof_u == 0:
        said.append(
            "Nothing is proven yet: three readings say nothing of their own uncertainty. Type the "
            "uncertainty of one reading, or sweep more points."
        )
    if fit.closure_um is not None and 0 < COVERAGE * 2 * stated_u_um < abs(fit.closure_um):
        said.append(
            "The four readings do not close within their uncertainty: sweep again before anything "
            "is moved. If it comes again, the bore is out of round or the indicator slips."
        )
    if stated_u_um and math.isfinite(fit.dof_u):
        said.append(
            "The readings scatter more than the uncertainty typed for them, so the scatter is used."
        )
    if item.quantity == TIR and len(fit.angles_deg) <= 4:
        said.append(
            "With four points the high spot can lie between them: the true TIR may be up to "
            "1.4 times this one."
        )
    return said


def move(item, fit, unit, axes):
    """How far the swept surface would have to go to run true, in words; "" where it does."""
    names = axis_names(item.station, axes)
    parts = [
        _part(-fit.right_um, "right", "left", names.right, unit),
        _part(-fit.up_um, "up", "down", names.up, unit),
    ]
    return " and ".join(part for part in parts if part)


def _part(move_um, towards, back, axis, unit):
    size = length(abs(move_um), unit)
    if not any(digit in size for digit in "123456789"):
        return ""
    word = towards if move_um > 0 else back
    return f"{size} {word}{_axis_words(axis, move_um > 0)}"


def _axis_words(axis, plus):
    """The machine's name for a direction; `axis` names where plus goes."""
    if not axis:
        return ""
    turned = axis if plus else axis.translate(str.maketrans("+−", "−+"))
    return f" ({turned})"


def picture_query(fit, verdict, phase, unit):
    """The figures of a fitted sweep for the address of its picture."""
    query = {
        "right": _short(fit.right_um),
        "up": _short(fit.up_um),
        "verdict": verdict,
        "phase": phase,
        "unit": unit,
        "residuals": ",".join(
            f"{angle:g}:{_short(residual)}"
            for angle, residual in zip(fit.angles_deg, fit.residuals_um, strict=True)
        ),
    }
    if fit.dof_u > 0:
        (rr, ru), (_, uu) = fit.covariance_um2
        query |= {"covariance": ",".join(_short(part) for part in (rr, ru, uu))}
        query |= {} if math.isinf(fit.dof_u) else {"dof": f"{fit.dof_u:g}"}
    return urlencode(query)


def _short(value):
    text = f"{value:.{PLACES_UM}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text
