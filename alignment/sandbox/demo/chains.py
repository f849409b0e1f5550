"""The demo's datum chains and acceptance sheets.

The order of checking and how each station is swept are common practice, no source; the limits
and the factory's figures are invented.
"""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from alignment.adjusting.models import AdjustingWay
from alignment.sheets.models import AcceptanceItem, AcceptanceSheet
from alignment.sheets.setup import usual_setup
from machines.register.models import Station, StationMover
from shop.lengths import parse_length

Kind = Station.Kind
Quantity = AcceptanceItem.Quantity


# Sheets in inches state a tilt for four inches.
PER_MM = {"mm": 100, "in": Decimal("101.6")}


@dataclass(frozen=True)
class DemoSheetLine:
    """A line of the sheet, its lengths as typed in the shop's unit."""

    name: str
    quantity: str
    upper: str
    factory: str
    lower: str = ""
    surface: str = "bore"


@dataclass(frozen=True)
class Place:
    """A station, the kind of its datum, and its lines for a metric and for an inch sheet."""

    kind: str
    datum: str | None
    how: str
    mm: tuple[DemoSheetLine, ...]
    inch: tuple[DemoSheetLine, ...]


RUN_OUT = DemoSheetLine("run-out of the collet seat", Quantity.TIR, "0.005", "0.002")
HOUSING_TILT = DemoSheetLine("bore, tilt near to far", Quantity.TILT, "0.012", "0.003")
HOUSING = DemoSheetLine("bore to the headstock axis", Quantity.OFFSET, "0.010", "0.003")
SUB = DemoSheetLine("collet seat to the guide bushing axis", Quantity.OFFSET, "0.015", "0.006")
BACK = DemoSheetLine("first tool bore to the sub-spindle axis", Quantity.OFFSET, "0.020", "0.008")
SIDEWAYS = DemoSheetLine(
    "first holder, sideways", Quantity.FRONT, "0.020", "0.005", "-0.020", "boss"
)
HEIGHT = DemoSheetLine("first holder, height", Quantity.UP, "0.015", "-0.004", "-0.015", "boss")

CHAIN = (
    Place(
        Kind.HEADSTOCK,
        None,
        "Indicator on the slide, swept in the collet seat while the spindle is turned by hand.",
        (RUN_OUT,),
        (replace(RUN_OUT, upper=".0002", factory=".00008"),),
    ),
    Place(
        Kind.GUIDE_BUSHING,
        Kind.HEADSTOCK,
        "Indicator in the headstock spindle, guide bushing out, swept in the housing's bore, "
        "near and far for its tilt.",
        (HOUSING, HOUSING_TILT),
        (
            replace(HOUSING, upper=".0004", factory=".00012"),
            replace(HOUSING_TILT, upper=".0005", factory=".00012"),
        ),
    ),
    Place(
        Kind.SUB_SPINDLE,
        Kind.GUIDE_BUSHING,
        "Indicator in the sub-spindle, swept in the guide bushing's bore.",
        (SUB,),
        (replace(SUB, upper=".0006", factory=".00024"),),
    ),
    Place(
        Kind.BACK_TOOLS,
        Kind.SUB_SPINDLE,
        "Indicator in the sub-spindle, swept in the bore of the first back tool position.",
        (BACK,),
        (replace(BACK, upper=".0008", factory=".0003"),),
    ),
    Place(
        Kind.GANG_TOOLS,
        Kind.GUIDE_BUSHING,
        "Indicator in the guide bushing, swept round a test bar in the first holder.",
        (SIDEWAYS, HEIGHT),
        (
            replace(SIDEWAYS, upper=".0008", lower="-.0008", factory=".0002"),
            replace(HEIGHT, upper=".0006", lower="-.0006", factory="-.00016"),
        ),
    ),
)


PLANES_MM = {
    Kind.HEADSTOCK: 0,
    Kind.GUIDE_BUSHING: 120,
    Kind.SUB_SPINDLE: 180,
    Kind.BACK_TOOLS: 260,
    Kind.GANG_TOOLS: 140,
    Kind.TURRET: 140,
}
EASE = "Ease the bolts just so far that the casting follows; tighten crosswise, and sweep again."
WAYS = {
    Kind.GUIDE_BUSHING: (
        (AdjustingWay.Kind.SHIFT, {}, EASE),
        (
            AdjustingWay.Kind.SCREWS,
            {"radius_mm": 52, "angles_deg": [60, 180, 300], "pitch_mm": 1},
            "Level it with the three jack screws; never hammer it out.",
        ),
    ),
    Kind.SUB_SPINDLE: ((AdjustingWay.Kind.SHIFT, {}, EASE),),
    Kind.BACK_TOOLS: (
        (
            AdjustingWay.Kind.SHIMS,
            {
                "feet": {"near": 0, "far": 90},
                "stock_um": [5, 10, 20, 50],
                "pushes": "up",
                "most_shims": 2,
            },
            "",
        ),
    ),
    Kind.GANG_TOOLS: (
        (
            AdjustingWay.Kind.CONTROL,
            {"front": {"letter": "Y1", "sign": 1, "diameter": True, "step_um": 1}},
            "",
        ),
    ),
}


def _without_guide_bushing(chain):
    """The same chain with everything measured from the headstock instead."""
    moved = {Kind.GUIDE_BUSHING: Kind.HEADSTOCK}
    for place in chain:
        if place.kind != Kind.GUIDE_BUSHING:
            how = place.how.replace("guide bushing's bore", "headstock's collet seat")
            how = how.replace("in the guide bushing", "in the headstock spindle")
            yield replace(place, datum=moved.get(place.datum, place.datum), how=how)


def _with_turret(chain):
    """The same chain with a turret in place of the gang slide and the back tools."""
    for place in chain:
        if place.kind == Kind.GANG_TOOLS:
            yield replace(place, kind=Kind.TURRET)
        elif place.kind != Kind.BACK_TOOLS:
            yield place


CHAINS = {
    "3": tuple(_without_guide_bushing(CHAIN)),
    "C": tuple(_with_turret(_without_guide_bushing(CHAIN))),
}


def draw_up(scene):
    """Enter each machine's stations and the factory sheet that is in force for it."""
    for number, machine in scene.machines.items():
        _stations_and_sheet(machine, CHAINS.get(number, CHAIN))


def _stations_and_sheet(machine, chain):
    sheet = AcceptanceSheet.objects.create(
        machine=machine, name="factory sheet", dated=date(machine.built, 4, 12)
    )
    unit = machine.shop.length_unit
    stations, position = {}, 0
    for order, place in enumerate(chain, start=1):
        station = stations[place.kind] = Station.objects.create(
            machine=machine,
            name=Kind(place.kind).label,
            kind=place.kind,
            position=order,
            datum=stations.get(place.datum),
            how=place.how,
            plane_mm=PLANES_MM[place.kind],
            **vars(usual_setup(place.kind)),
        )
        for axis in machine.axes.filter(moves=station.name):
            StationMover.objects.create(station=station, axis=axis)
        for kind, settings, note in WAYS.get(place.kind, ()):
            AdjustingWay.objects.create(station=station, kind=kind, settings=settings, note=note)
        for line in place.mm if unit == "mm" else place.inch:
            position += 1
            _item(sheet, station, position, line, unit)


def _item(sheet, station, position, line, unit):
    name = line.name
    if station.datum and station.datum.kind == Kind.HEADSTOCK:
        name = name.replace("guide bushing axis", "headstock axis")
    AcceptanceItem.objects.create(
        sheet=sheet,
        station=station,
        position=position,
        name=name,
        quantity=line.quantity,
        surface=line.surface,
        upper_um=parse_length(line.upper, unit),
        lower_um=parse_length(line.lower, unit) if line.lower else None,
        factory_um=parse_length(line.factory, unit),
        per_mm=PER_MM[unit],
    )
