"""Directions in words: where a station stands, which way it has to go, and what moves it there.

Figures are of the machine's frame, `alignment.geometry.frame`; nothing here looks at a dial.
"""

from alignment.geometry.frame import AWAY, DOWN, FRONT, OPPOSITE, REAR, TOWARDS, UP
from alignment.geometry.measure.quantity import SIDEWAYS, UPWARDS
from shop.lengths import format_length

WORDS = {
    FRONT: "to the front",
    REAR: "to the rear",
    UP: "up",
    DOWN: "down",
    TOWARDS: "towards the headstock",
    AWAY: "away from the headstock",
}
# Where a column, or the scale of a picture, is narrow.
SHORT = WORDS | {FRONT: "front", REAR: "rear"}
# What a column of a file tells by signs, which a spreadsheet can add up.
SIGNS = {FRONT: "front (+) / rear (-)", UP: "up (+) / down (-)"}


def parts(front_um, up_um, show):
    """(length, direction) of both parts of a way, the ones that come to nothing left out.

    show: what turns µm into text.
    """
    for um, plus in ((front_um, FRONT), (up_um, UP)):
        size = None if um is None else show(abs(um))
        if size and comes_to_something(size):
            yield size, plus if um > 0 else OPPOSITE[plus]


def place_shown(front_um, up_um, show):
    """Where something stands, such as "0.0120 mm to the rear, 0.0080 mm up"; "" where it does
    not stand off."""
    told = parts(front_um, up_um, show)
    return ", ".join(f"{size} {WORDS[direction]}" for size, direction in told)


def plus_of(quantity):
    """Where the plus of a figure points, FRONT or UP; None of one that is a size alone."""
    return FRONT if quantity in SIDEWAYS else UP if quantity in UPWARDS else None


def figure_shown(um, quantity, show, *, per="", words=WORDS):
    """A figure of one direction, such as "0.0120 mm per 100 mm to the rear"; of another with its
    size alone. A figure with a direction never has a sign besides.

    show: what turns µm into text. per: the length that a tilt is stated for, in words.
    """
    plus = plus_of(quantity)
    text = " ".join(part for part in (show(um if plus is None else abs(um)), per) if part)
    way = words[plus if um > 0 else OPPOSITE[plus]] if plus and comes_to_something(text) else ""
    return f"{text} {way}".rstrip()


def comes_to_something(shown):
    """Whether a length as it is written is more than zeros."""
    return any(digit in shown.split(" ")[0] for digit in "123456789")


def with_sign(name, plus):
    """A column of lengths in µm by name, with what its plus is: FRONT, UP, or None of a size."""
    return ", ".join(part for part in (name, SIGNS.get(plus), "µm") if part)


def place_words(front_um, up_um, unit, *, places=None):
    """The same in a unit."""
    return place_shown(front_um, up_um, _in(unit, places))


def way_words(front_um, up_um, unit, movers=None):
    """A way to go, such as "0.0120 mm to the front (X2+) and 0.0080 mm down"; "" for none.

    movers: direction to the name of the axis that moves it there, as `movers_of` gives it.
    """
    return way_shown(front_um, up_um, _in(unit), movers)


def way_shown(front_um, up_um, show, movers=None):
    """The same, with what turns µm into text."""
    return " and ".join(
        f"{size} {WORDS[direction]}{_by(movers, direction)}"
        for size, direction in parts(front_um, up_um, show)
    )


def short_way(front_um, up_um, show, movers=None):
    """The same where it is narrow, without the unit: "0.0007 front (X2+), 0.0004 down"."""
    return ", ".join(
        f"{size.partition(' ')[0]} {SHORT[direction]}{_by(movers, direction)}"
        for size, direction in parts(front_um, up_um, show)
    )


def direction_words(front_um, up_um, unit):
    """The directions alone: "to the rear and up"; "" for none."""
    return " and ".join(WORDS[direction] for _, direction in parts(front_um, up_um, _in(unit)))


def how_far_words(adjustment, unit):
    """How far a station was moved, such as ", moved 0.031 mm to the rear"; "" where that was not
    entered."""
    moved = place_words(*adjustment.moved_um, unit)
    return f", moved {moved}" if moved else ""


def movers_of(station):
    """Direction to the axis that moves a station there with its sign, such as {"rear": "X2−"}.

    One query. A casting that is bolted has none.
    """
    named = {}
    for mover in station.movers.select_related("axis"):
        if mover.axis.plus in OPPOSITE:
            named[mover.axis.plus] = f"{mover.axis}+"
            named[OPPOSITE[mover.axis.plus]] = f"{mover.axis}−"
    return named


def _by(movers, direction):
    return f" ({movers[direction]})" if movers and direction in movers else ""


def _in(unit, places=None):
    return lambda um: format_length(um, unit, places=places, with_unit=True)
