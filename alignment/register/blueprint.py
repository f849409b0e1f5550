"""What a new machine is made from: a kind, or another machine with all that is no history of it."""

from dataclasses import dataclass, field, replace
from datetime import date

from alignment.sheets.models import AcceptanceItem
from machines.drive.models import Bearing, Belt
from machines.kinds.axes import kind_axis
from machines.kinds.shape import KindItem, KindStation, MachineKind

# What describes a place for a part, without the part that sits there now or since when.
BELT_FIELDS = (
    "name", "drives", "profile", "pitch_mm", "teeth", "width_mm", "driving_teeth", "driven_teeth",
    "place_in_path", "span_mm", "mass_kg_per_m", "tension_low_n", "tension_high_n",
)  # fmt: skip
BEARING_FIELDS = (
    "name", "designation", "kind", "bore_mm", "balls", "ball_mm", "pitch_mm", "contact_deg", "c_n",
    "c0_n", "speed_rpm", "load_n",
)  # fmt: skip
ASSEMBLY_FIELDS = ("kind", "preload", "renew_after_h", "note")
LINE_FIELDS = (
    "name", "quantity", "surface", "upper_um", "lower_um", "per_mm", "at_mm", "nominal_um",
)  # fmt: skip
USUAL_LINES = "Usual lines, no limits yet"


@dataclass(frozen=True)
class Blueprint:
    """A kind, and what a machine of the same shop has besides.

    lines: (key of the station, fields of an acceptance item). parts: {(model, name): part}.
    partners: {name of a belt: name of the one it is replaced with}. plans: (fields, subjects).
    """

    kind: MachineKind
    lines: tuple = ()
    sheet: str = USUAL_LINES
    dated: date | None = None
    machine: dict = field(default_factory=dict)
    parts: dict = field(default_factory=dict)
    partners: dict = field(default_factory=dict)
    plans: tuple = ()


def of_kind(kind):
    """The `Blueprint` of a kind; its usual lines are swept without limits until they are typed."""
    lines = tuple(
        (item.station, {name: getattr(item, name) for name in LINE_FIELDS if hasattr(item, name)})
        for item in kind.items
    )
    return Blueprint(
        kind, lines, machine={"name": kind.name[:80], "headstock_side": kind.headstock_side}
    )


def of_machine(machine):
    """The `Blueprint` of a machine: all but its serial number, its history and scans of its sheet.

    The factory's own figures were measured on that one machine, so they stay with it.
    """
    sheet = machine.sheets.filter(is_current=True).first()
    items = _lines_of(sheet)
    names = ("name", "model_name", "built", "headstock_side", "note")
    return Blueprint(
        kind=kind_of(machine),
        lines=tuple(
            (item.station.name, {name: getattr(item, name) for name in LINE_FIELDS})
            for item in items
        ),
        sheet=sheet.name if sheet else "",
        dated=sheet.dated if sheet else None,
        machine={name: getattr(machine, name) for name in names},
        parts={
            (model, place.name): place.part
            for model, places in ((Belt, machine.belts), (Bearing, machine.bearings))
            for place in places.exclude(part=None).select_related("part")
        },
        partners={
            belt.name: belt.partner.name
            for belt in machine.belts.exclude(partner=None).select_related("partner")
        },
        plans=tuple(_plans_of(machine)),
    )


def _lines_of(sheet):
    items = AcceptanceItem.objects.filter(sheet=sheet, station__ended_on=None)
    return list(items.select_related("station").order_by("position"))


def _plans_of(machine):
    """(fields, names of what it is about) of the plans that are the machine's own."""
    names = (
        "kind", "what", "steps", "years", "months", "weeks", "days", "spindle_hours", "parts",
        "after_incident", "at_risk_percent", "counts_from", "cost",
    )  # fmt: skip
    for plan in machine.plans.running().prefetch_related("subjects"):
        said = {name: getattr(plan, name) for name in names}
        yield said, tuple(subject.name for subject in plan.subjects.all())


def kind_of(machine, name=""):
    """A machine as a `MachineKind`, without limits, parts and figures of its own."""
    sheet = machine.sheets.filter(is_current=True).first()
    return replace(
        outline_of(machine),
        name=name or machine.model_name or machine.name,
        items=tuple(_kind_item(item) for item in _lines_of(sheet)),
        assemblies=tuple(_row(one, ASSEMBLY_FIELDS) for one in machine.assemblies.all()),
        belts=tuple(_row(one, BELT_FIELDS) for one in machine.belts.all()),
        bearings=tuple(
            _row(one, BEARING_FIELDS) | {"inside": one.assembly.kind if one.assembly else ""}
            for one in machine.bearings.select_related("assembly")
        ),
    )


def outline_of(machine):
    """A machine's stations and axes as a `MachineKind`, which is what is drawn; four queries."""
    stations = list(
        machine.stations.current().select_related("datum").prefetch_related("ways", "movers")
    )
    return MachineKind(
        name=machine.name,
        stations=tuple(_kind_station(one) for one in _datums_first(stations)),
        headstock_side=machine.headstock_side,
        axes=tuple(kind_axis(axis, _moved_by(axis, stations)) for axis in machine.axes.all()),
    )


def _moved_by(axis, stations):
    """Names of the stations that an axis moves."""
    return [
        one.name for one in stations if axis.pk in {mover.axis_id for mover in one.movers.all()}
    ]


def _datums_first(stations):
    """The stations in checking order, but each behind its datum, as a kind wants them."""
    waiting, placed = list(stations), []
    while waiting:
        known = {one.pk for one in placed}
        ready = [one for one in waiting if one.datum_id is None or one.datum_id in known]
        if not ready:
            return placed + waiting
        placed.append(ready[0])
        waiting.remove(ready[0])
    return placed


def _kind_station(station):
    return KindStation(
        key=station.name,
        name=station.name,
        kind=station.kind,
        datum=station.datum.name if station.datum else "",
        indicator_in=station.indicator_in,
        look=station.look,
        plane_mm=station.plane_mm,
        how=station.how,
        ways=tuple(
            {"kind": way.kind, "settings": way.settings, "note": way.note}
            for way in station.ways.all()
        ),
    )


def _kind_item(item):
    return KindItem(
        station=item.station.name,
        name=item.name,
        quantity=item.quantity,
        surface=item.surface,
        per_mm=f"{item.per_mm}",
        at_mm=None if item.at_mm is None else f"{item.at_mm}",
        nominal_um=f"{item.nominal_um}",
    )


def _row(record, names):
    """Fields of a record that are filled in, numbers with decimals as text, as JSON keeps them."""
    said = {name: getattr(record, name) for name in names}
    return {
        name: value if isinstance(value, int | str) else f"{value}"
        for name, value in said.items()
        if value not in (None, "")
    }
