"""Making machines from blueprints, one or hundreds, with everything on them."""

from django.db import transaction

from alignment.adjusting.models import AdjustingWay
from alignment.sheets.models import AcceptanceItem, AcceptanceSheet
from machines.drive.models import Assembly, Bearing, Belt
from machines.kinds.axes import axis_fields, control_settings
from machines.planning.plans import make_plan
from machines.register.models import Axis, Machine, Station, StationMover, new_code
from shop.people.models import Shop
from shop.web.errors import Refused

from .blueprint import ASSEMBLY_FIELDS, BEARING_FIELDS, BELT_FIELDS


@transaction.atomic
def make_machines(shop, wanted, *, made_by):
    """Make machines of a shop, all or none; returns them in the order they are wanted.

    wanted: (fields of the machine, `Blueprint`) for each. The queries grow with what the largest
    has of each sort, not with how many there are, own plans aside. Raises Refused for a number
    that the shop has or that is wanted twice.
    """
    Shop.objects.select_for_update().get(pk=shop.pk)
    _refuse_numbers(shop, [said["number"] for said, _ in wanted])
    codes = _codes(len(wanted))
    machines = Machine.objects.bulk_create(
        Machine(shop=shop, code=code, **{**plan.machine, **said})
        for (said, plan), code in zip(wanted, codes, strict=True)
    )
    pairs = [(machine, plan) for machine, (_, plan) in zip(machines, wanted, strict=True)]
    stations = _make_stations(pairs)
    _make_ways(pairs, stations)
    _make_axes(pairs, stations)
    _make_drive_train(pairs)
    _make_sheets(pairs, stations, made_by)
    _make_plans(pairs, made_by)
    return machines


def _refuse_numbers(shop, numbers):
    there = set(shop.machines.values_list("number", flat=True))
    for number in numbers:
        if number in there:
            raise Refused(f"{shop} has a machine {number} already; give this one another number.")
        there.add(number)


def _codes(count):
    """As many codes for labels as there are machines, none of them given out before."""
    given = set(Machine.objects.values_list("code", flat=True)) if count > 1 else set()
    codes = set()
    while len(codes) < count:
        codes.add(new_code())
        codes -= given
    return list(codes)


def _make_stations(pairs):
    """{(machine's pk, key): station}, each datum before what is measured from it."""
    made = {}
    for place in range(max((len(plan.kind.stations) for _, plan in pairs), default=0)):
        here = [
            (m, plan.kind.stations[place]) for m, plan in pairs if len(plan.kind.stations) > place
        ]
        created = Station.objects.bulk_create(
            Station(
                machine=machine,
                position=place + 1,
                datum=made.get((machine.pk, one.datum)),
                **{
                    name: getattr(one, name)
                    for name in ("name", "kind", "indicator_in", "look", "plane_mm", "how")
                },
            )
            for machine, one in here
        )
        made |= {(m.pk, one.key): station for (m, one), station in zip(here, created, strict=True)}
    return made


def _make_ways(pairs, stations):
    AdjustingWay.objects.bulk_create(
        AdjustingWay(
            station=stations[machine.pk, one.key],
            kind=way["kind"],
            settings=settings,
            note=way.get("note", ""),
        )
        for machine, plan in pairs
        for one in plan.kind.stations
        for way in one.ways
        if (settings := _settings(way, one, plan.kind)) is not None
    )


def _make_axes(pairs, stations):
    wanted = [(machine, axis, plan.kind) for machine, plan in pairs for axis in plan.kind.axes]
    axes = Axis.objects.bulk_create(
        Axis(machine=machine, **axis_fields(axis, kind)) for machine, axis, kind in wanted
    )
    StationMover.objects.bulk_create(
        StationMover(station=stations[machine.pk, key], axis=made)
        for made, (machine, axis, _kind) in zip(axes, wanted, strict=True)
        for key in axis.moves
    )


def _settings(way, station, kind):
    """The settings of a way; None for one at the control of a station that no axis moves so."""
    if way["kind"] != AdjustingWay.Kind.CONTROL or way.get("settings"):
        return way.get("settings", {})
    return control_settings(station.key, kind) or None


def _make_drive_train(pairs):
    assemblies = Assembly.objects.bulk_create(
        Assembly(machine=machine, **_only(row, ASSEMBLY_FIELDS))
        for machine, plan in pairs
        for row in plan.kind.assemblies
    )
    inside = {(one.machine_id, one.kind): one for one in assemblies}
    Bearing.objects.bulk_create(
        Bearing(
            machine=machine,
            assembly=inside.get((machine.pk, row.get("inside"))),
            part=plan.parts.get((Bearing, row["name"])),
            **_only(row, BEARING_FIELDS),
        )
        for machine, plan in pairs
        for row in plan.kind.bearings
    )
    belts = Belt.objects.bulk_create(
        Belt(machine=machine, part=plan.parts.get((Belt, row["name"])), **_only(row, BELT_FIELDS))
        for machine, plan in pairs
        for row in plan.kind.belts
    )
    _pair_belts(pairs, {(belt.machine_id, belt.name): belt for belt in belts})


def _pair_belts(pairs, belts):
    paired = []
    for machine, plan in pairs:
        for name, partner in plan.partners.items():
            belts[machine.pk, name].partner = belts[machine.pk, partner]
            paired.append(belts[machine.pk, name])
    if paired:
        Belt.objects.bulk_update(paired, ["partner"], batch_size=500)


def _only(row, names):
    return {name: value for name, value in row.items() if name in names}


def _make_sheets(pairs, stations, made_by):
    with_lines = [(machine, plan) for machine, plan in pairs if plan.lines]
    sheets = AcceptanceSheet.objects.bulk_create(
        AcceptanceSheet(machine=machine, name=plan.sheet, dated=plan.dated, made_by=made_by)
        for machine, plan in with_lines
    )
    AcceptanceItem.objects.bulk_create(
        AcceptanceItem(sheet=sheet, station=stations[machine.pk, key], position=position, **said)
        for sheet, (machine, plan) in zip(sheets, with_lines, strict=True)
        for position, (key, said) in enumerate(plan.lines, start=1)
    )


def _make_plans(pairs, made_by):
    """The machine's own plans begin today: what was done on the other machine is its history."""
    for machine, plan in pairs:
        today = machine.shop.today
        for said, subjects in plan.plans:
            make_plan(
                shop=machine.shop, machine=machine, made_by=made_by, subjects=subjects,
                starts_on=today, **said,
            )  # fmt: skip
