"""A sweep in a few words: what stands in the middle of the dial and on the line below it."""

from dataclasses import dataclass

from alignment.geometry.measure.quantity import OFFSET, TILT
from alignment.sheets import formatting
from alignment.sheets.directions import SHORT, figure_shown, parts
from shop.rounding import rounded


@dataclass(frozen=True)
class Glance:
    """What came out, in words: the figure, its directions, U, and the move that brings it true."""

    figure: str
    note: str
    directions: tuple[str, ...]
    uncertainty: str
    move: str


def glance(item, measured, unit):
    """The `Glance` of sweeps of an item that were worked out; one query where it can be moved."""
    show = shown_by(item, measured, unit)
    return Glance(
        figure=figure_shown(measured.value_um, item.quantity, show, words=SHORT),
        note=formatting.per_words(item.per_mm, unit) if item.is_tilt else "",
        directions=tuple(_directions(item, measured, show)),
        uncertainty=formatting.uncertainty(measured.expanded_um, unit),
        move=formatting.short_move(item, measured, show),
    )


def strip(item, measured, unit, last):
    """(word, figure) of what a figure is read against: the limits, its U, how it was last left.

    measured: None while nothing is worked out; last: a check, or None.
    """
    said = [("Tolerance", formatting.limits(item, unit).removeprefix("up to "))]
    if measured is not None:
        said.append(("U", _bare(formatting.uncertainty(measured.expanded_um, unit))))
    if last is not None:
        said.append(("last", _bare(formatting.measure(last.told_um, unit, last, words=SHORT))))
    return said


def _bare(text):
    """A figure without its unit, which stands beside it already."""
    number, _, told = text.partition(" ")
    if not number.strip("+-").replace(".", "").isdecimal():
        return text
    return f"{number} {told.partition(' ')[2]}".rstrip()


def shown_by(asked, measured, unit):
    """What writes the figures of sweeps that were worked out, as finely as they are known.

    asked: the acceptance item or the stored check they are held against.
    """
    tolerance, expanded = formatting.tolerance_of(asked), measured.expanded_um

    def show(um, *, signed=False):
        return rounded(um, unit, u_um=expanded, tolerance_um=tolerance, signed=signed)

    return show


def _directions(item, measured, show):
    if measured.bar or item.quantity not in (OFFSET, TILT):
        return
    lean = "leans " if item.is_tilt else ""
    for size, direction in parts(measured.front_um, measured.up_um, show):
        yield f"{lean}{SHORT[direction]} {size.partition(' ')[0]}"
