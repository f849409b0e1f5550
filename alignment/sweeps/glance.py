"""A sweep in a few words: what stands in the middle of the dial and on the line below it."""

from dataclasses import dataclass

from alignment.geometry.frame import DOWN, FRONT, REAR, UP
from alignment.geometry.measure.quantity import OFFSET, SIGNED, TILT
from alignment.sheets import formatting
from alignment.sheets.directions import parts
from shop.rounding import rounded

# Shorter than on a page: they stand in the dial, beside where they point.
SHORT = {FRONT: "front", REAR: "rear", UP: "up", DOWN: "down"}


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
        figure=show(measured.value_um, signed=item.quantity in SIGNED),
        note=formatting.per_words(item.per_mm, unit) if item.is_tilt else "",
        directions=tuple(_directions(item, measured, show)),
        uncertainty=formatting.uncertainty(measured.expanded_um, unit),
        move=formatting.move(item, measured, show),
    )


def strip(item, measured, unit, last):
    """(word, figure) of what a figure is read against: the limits, its U, how it was last left.

    measured: None while nothing is worked out; last: a check, or None.
    """
    said = [("Tolerance", formatting.limits(item, unit).removeprefix("up to "))]
    if measured is not None:
        said.append(("U", _bare(formatting.uncertainty(measured.expanded_um, unit))))
    if last is not None:
        said.append(("last", _bare(formatting.measure(last.told_um, unit, last))))
    return said


def _bare(text):
    """A figure without its unit, which stands beside it already."""
    number = text.partition(" ")[0]
    return text if not number.strip("+-").replace(".", "").isdecimal() else number


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
