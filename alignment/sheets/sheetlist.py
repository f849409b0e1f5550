"""An acceptance sheet as it stands in a CSV file, read line by line.

The first line names the columns; `COLUMNS` has the names that are known, those of this site's own
CSV file of a sheet among them. Cells are parted by commas, semicolons or tabs. What can be read in
two ways is refused, never guessed.

A list that names a figure of `FORMER` is of the time when figures were told in the indicator's
view, right and up: all of its limits with a sign are turned to tell of the station.
"""

from dataclasses import dataclass, field

from alignment.geometry.measure.quantity import SIGNED
from machines.register.models import Station
from shop.lengths import parse_length
from shop.web.listing import FORMULA_STARTS, cells_of, columns_of

from .lines import LONGEST_LIMIT_UM, TWICE_BELOW, SheetLine, both_ways, refuse_formula
from .models import AcceptanceItem
from .stations import guessed

# Common practice, no source: a machine's sheet has a few dozen lines.
MOST_LINES = 300
LONGEST_STATION = Station._meta.get_field("name").max_length
LONGEST_NAME = AcceptanceItem._meta.get_field("name").max_length
COLUMNS = {
    "station": ("station",),
    "name": ("what is measured", "name"),
    "quantity": ("figure", "quantity"),
    "surface": ("swept", "surface"),
    "lower": ("lower limit", "lower"),
    "upper": ("upper limit", "upper", "tolerance"),
    "factory": ("factory's own figure", "factory"),
    "per": ("per length", "per"),
    "at": ("asked for at", "at"),
    "nominal": ("flat stands from the axis by", "nominal"),
}
NEEDED = ("station", "name")
USUAL = {"quantity": AcceptanceItem.Quantity.OFFSET, "surface": AcceptanceItem.Surface.BORE}
CHOICES = {"quantity": AcceptanceItem.Quantity, "surface": AcceptanceItem.Surface}
# Given along the machine, and longer than any limit may be.
ALONG = ("per", "at")
Quantity = AcceptanceItem.Quantity
FORMER = {
    "right": Quantity.FRONT,
    "offset to the right": Quantity.FRONT,
    "tilt right": Quantity.TILT_FRONT,
    "tilt to the right": Quantity.TILT_FRONT,
    "bow right": Quantity.BOW_FRONT,
    "straightness sideways": Quantity.BOW_FRONT,
}
WORDS = {"quantity": "figure", "surface": "swept surface"}


@dataclass
class SheetRow:
    """One line of the list: what was typed, what it comes to, and what is wrong with it.

    turned: it was told in the indicator's view, and is told of the station now.
    """

    number: int
    typed: dict
    line: SheetLine | None = None
    wrong: list = field(default_factory=list)
    turned: bool = False


def read_sheet(text, stations, unit, *, make_stations=False):
    """The `Row`s of a list.

    stations: those of the machine. make_stations: a name that is none of theirs is a station to be
    made; so it is where the machine has none. unit: "in", "mm" or "um", what a bare number means.
    Raises ValueError when the list as a whole cannot be read: no lines, too many, or columns that
    are missing or given twice. What is wrong with one line stands in its row.
    """
    lines = cells_of(text)
    if len(lines) < 2:
        raise ValueError("The list is empty: expected a line of column names, then the lines.")
    if len(lines) > MOST_LINES + 1:
        raise ValueError(
            f"The list has {len(lines) - 1:,} lines; a sheet of at most {MOST_LINES} is taken. "
            "Is it the right file?"
        )
    places = _places(lines[0][1])
    by_name = _Stations({station.name.casefold(): station for station in stations})
    by_name.may_grow = make_stations or not by_name
    rows = [_read(number, cells, places, by_name, unit) for number, cells in lines[1:]]
    if any(_is_former(row) for row in rows):
        for row in rows:
            _turn(row)
    _refuse_twice(rows)
    return rows


def _places(head):
    limit = () if {"lower", "upper"} & columns_of(head, COLUMNS).keys() else ("upper",)
    return columns_of(head, COLUMNS, NEEDED + limit)


def _read(number, cells, places, stations, unit):
    typed = {
        part: cells[place].strip() if place < len(cells) else "" for part, place in places.items()
    }
    row = SheetRow(number, {part: typed.get(part, "") for part in COLUMNS})
    said = {}
    for part, read in _READERS.items():
        try:
            said |= read(part, row.typed[part], stations, unit)
        except ValueError as error:
            row.wrong.append(str(error))
    if row.typed["lower"] and both_ways(row.typed["upper"]):
        row.wrong.append(TWICE_BELOW)
    if not row.wrong:
        _take(row, SheetLine(**said))
    return row


def _upper(part, typed, stations, unit):
    """An upper limit, or a ± limit, which is both."""
    one_way = both_ways(typed)
    if one_way is None:
        return _length(part, typed, stations, unit)
    upper = _length(part, one_way, stations, unit)["upper_um"]
    return {"upper_um": upper, "lower_um": None if upper is None else -upper}


def _take(row, line):
    try:
        line.refuse_if_wrong()
    except ValueError as error:
        row.wrong.append(str(error))
    else:
        row.line = line


def _is_former(row):
    return row.typed["quantity"].casefold() in FORMER


def _turn(row):
    """Tell a line's limits of the station, where they have a sign and the list is a former one."""
    if row.line is None or row.line.quantity not in SIGNED:
        row.turned = row.line is not None and _is_former(row)
    elif row.line.station.pk is None:
        row.line = None
        row.wrong.append(
            "Its limits are told as an indicator saw them, and this station is not on record, so "
            "nobody knows how it was looked at. Put the station on record first, or say front or "
            "up."
        )
    else:
        row.line, row.turned = row.line.turned(), True


class _Stations(dict):
    """Stations by name; one that is not there yet is a new one, where they may grow."""

    may_grow = False

    def named(self, typed):
        if typed and self.may_grow and typed.casefold() not in self:
            if len(typed) > LONGEST_STATION:
                raise ValueError(f"A station's name takes at most {LONGEST_STATION} characters.")
            refuse_formula(typed)
            self[typed.casefold()] = guessed(typed)
        return self.get(typed.casefold())


def _station(_part, typed, stations, _unit):
    station = stations.named(typed)
    if station is None:
        known = ", ".join(str(one) for one in stations.values())
        raise ValueError(f"There is no station {typed!r} on this machine. It has: {known}.")
    return {"station": station}


def _name(_part, typed, _stations, _unit):
    if not typed:
        raise ValueError("It does not say what is measured.")
    if len(typed) > LONGEST_NAME:
        raise ValueError(f"What is measured takes {len(typed)} characters; at most {LONGEST_NAME}.")
    return {"name": typed}


def _choice(part, typed, _stations, _unit):
    if not typed:
        return {part: USUAL[part]}
    if part == "quantity" and typed.casefold() in FORMER:
        return {part: FORMER[typed.casefold()].value}
    for value, label in CHOICES[part].choices:
        if typed.casefold() in (value.casefold(), label.casefold()):
            return {part: value}
    known = ", ".join(value for value in CHOICES[part].values)
    raise ValueError(f"{typed!r} is no {WORDS[part]}; expected one of {known}.")


def _length(part, typed, _stations, unit):
    if not typed:
        return {f"{part}_um": None}
    if typed.startswith(("=", "@")) or (typed[0] in FORMULA_STARTS and "(" in typed):
        raise ValueError(f"{typed!r} is a formula; expected the length it comes to.")
    try:
        return {
            f"{part}_um": parse_length(
                typed, unit, longest_um=LONGEST_LIMIT_UM * 20 if part in ALONG else LONGEST_LIMIT_UM
            )
        }
    except ValueError as error:
        raise ValueError(f"{COLUMNS[part][0].capitalize()}: {error}") from error


def _along(part, typed, _stations, unit):
    """A length along the machine; a bare number is in mm where the limits are not in inches."""
    um = _length(part, typed, None, "in" if unit == "in" else "mm")[f"{part}_um"]
    return {f"{part}_mm": None if um is None else round(um / 1000, 4)}


_READERS = {
    "station": _station,
    "name": _name,
    "quantity": _choice,
    "surface": _choice,
    "lower": _length,
    "upper": _upper,
    "factory": _length,
    "per": _along,
    "at": _along,
    "nominal": _length,
}


def _refuse_twice(rows):
    first = {}
    for row in rows:
        if row.line is None:
            continue
        if (before := first.setdefault(row.line.key, row)) is not row:
            row.wrong.append(f"Line {before.number} says the same already.")
            row.line = None
