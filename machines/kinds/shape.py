"""What a kind of machine says: stations, axes, drive train and the usual lines of a sheet.

A kind is data: a TOML file of ours, or what a firm kept of one of its machines. Directions are told
as a person at the machine points: to the front (the operator's side), to the rear, up, down,
towards or away from the headstock. Which axes move what and where their plus points differs from
maker to maker; what our files say is common practice, no source, and each machine can be changed.
"""

from dataclasses import asdict, dataclass, fields

SIDES = ("left", "right")
PLUS = ("front", "rear", "up", "down", "towards", "away", "")
STATION_KINDS = (
    "headstock", "guide bushing", "sub-spindle", "back tools", "gang tools", "turret", "other",
)  # fmt: skip
HOLDERS = ("datum", "station")
LOOKS = ("from the headstock", "to the headstock")
ROUND = ("bore", "boss")
# A kind gives names and places; figures are the machine's own.
BELT_NEEDS = ("name", "drives")
BEARING_NEEDS = ("name",)
ASSEMBLY_KINDS = ("guide bushing housing", "jack shaft")


@dataclass(frozen=True)
class KindStation:
    """A station; `datum` is the key of a station that stands before it, empty for the first.

    ways: how it is adjusted, each with kind, settings and note; a way at the control without
    settings takes the axes that move the station.
    """

    key: str
    name: str
    kind: str
    datum: str = ""
    indicator_in: str = "datum"
    look: str = "from the headstock"
    plane_mm: float = 0
    how: str = ""
    ways: tuple[dict, ...] = ()


@dataclass(frozen=True)
class KindAxis:
    """An axis: the keys of the stations it moves, and where its plus points; empty if unsaid.

    says: what it moves in words, where that is more than the stations' names.
    """

    name: str
    moves: tuple[str, ...] = ()
    plus: str = ""
    says: str = ""


@dataclass(frozen=True)
class KindItem:
    """A usual line of the sheet, without limits and without the factory's figure."""

    station: str
    name: str
    quantity: str = "offset"
    surface: str = "bore"
    per_mm: str = "100"
    at_mm: str | None = None
    nominal_um: str = "0"


@dataclass(frozen=True)
class MachineKind:
    """A kind of machine; belts, bearings and assemblies are rows of field names and values."""

    name: str
    says: str = ""
    headstock_side: str = "left"
    stations: tuple[KindStation, ...] = ()
    axes: tuple[KindAxis, ...] = ()
    items: tuple[KindItem, ...] = ()
    assemblies: tuple[dict, ...] = ()
    belts: tuple[dict, ...] = ()
    bearings: tuple[dict, ...] = ()

    def as_data(self):
        """The kind as plain dictionaries and lists, which `read_kind` reads back."""
        return asdict(self)

    def station(self, key):
        """The station of a key."""
        return next(one for one in self.stations if one.key == key)


def read_kind(data):
    """The `MachineKind` that plain data describes.

    Raises ValueError, naming the place, for what is missing, unknown or contradicts itself: a
    datum that does not stand before its station, an axis or a line of a station that is not there,
    a key or a name given twice.
    """
    parts = {
        "stations": KindStation,
        "axes": KindAxis,
        "items": KindItem,
    }
    said = {name: value for name, value in data.items() if name not in parts}
    for name, of in parts.items():
        said[name] = tuple(_row(of, row, name) for row in data.get(name, ()))
    for name in ("assemblies", "belts", "bearings"):
        said[name] = tuple(dict(row) for row in data.get(name, ()))
    kind = _row(MachineKind, said, "kind")
    _refuse_wrong_chain(kind)
    _refuse_strange(kind)
    _refuse_wrong_drive(kind)
    return kind


def _row(of, said, where):
    known = {field.name for field in fields(of)}
    if strange := set(said) - known:
        raise ValueError(f"{where}: {sorted(strange)[0]!r} is not known; expected {sorted(known)}.")
    listed = {name: tuple(value) for name, value in said.items() if isinstance(value, list | tuple)}
    try:
        return of(**{**said, **listed})
    except TypeError as error:
        raise ValueError(f"{where}: {error}.") from error


def _refuse_wrong_chain(kind):
    before = set()
    for number, one in enumerate(kind.stations):
        _one_of(one.kind, STATION_KINDS, f"The kind of {one.name}")
        _one_of(one.indicator_in, HOLDERS, f"Where the indicator sits for {one.name}")
        _one_of(one.look, LOOKS, f"Where the indicator looks for {one.name}")
        if one.key in before:
            raise ValueError(f"The station {one.key!r} is given twice.")
        if number == 0 and one.datum:
            raise ValueError(f"The first station, {one.name}, is the master datum; it has none.")
        if number and one.datum not in before:
            raise ValueError(f"{one.name}: its datum {one.datum!r} must stand before it.")
        before.add(one.key)
    if len({one.name.casefold() for one in kind.stations}) < len(before):
        raise ValueError("Two stations have one name.")


def _refuse_strange(kind):
    _one_of(kind.headstock_side, SIDES, "The headstock's side")
    keys = {one.key for one in kind.stations}
    if len({axis.name for axis in kind.axes}) < len(kind.axes):
        raise ValueError("Two axes have one name.")
    for axis in kind.axes:
        _one_of(axis.plus, PLUS, f"Where plus of {axis.name} points")
        if strange := set(axis.moves) - keys:
            raise ValueError(f"{axis.name} moves {sorted(strange)[0]!r}, which is no station.")
    for item in kind.items:
        _one_of(item.station, keys, f"The station of {item.name!r}")


def _refuse_wrong_drive(kind):
    for belt in kind.belts:
        _needs(belt, BELT_NEEDS, "A belt")
    for bearing in kind.bearings:
        _needs(bearing, BEARING_NEEDS, "A bearing")
        inside = bearing.get("inside", "")
        if inside and inside not in {one.get("kind") for one in kind.assemblies}:
            raise ValueError(f"The bearing {bearing['name']!r} is inside {inside!r}, not given.")
    for assembly in kind.assemblies:
        _one_of(assembly.get("kind"), ASSEMBLY_KINDS, "An assembly")


def _needs(row, names, what):
    if missing := [name for name in names if not row.get(name)]:
        raise ValueError(f"{what} lacks its {missing[0]}.")


def _one_of(value, known, what):
    if value not in known:
        expected = ", ".join(repr(one) for one in known)
        raise ValueError(f"{what} is {value!r}; expected one of {expected}.")
