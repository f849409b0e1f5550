"""The demo's six machines, their axes and belts; all names and numbers are invented."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from .models import Axis, Belt, Machine, Part

View = Axis.View

PRICE_OF_A_TOOTH = Decimal("0.42")
FITTING_H = Decimal("0.75")

GANG_AXES = (
    ("X1", "gang tool slide", View.UP),
    ("Y1", "gang tool slide", View.RIGHT),
    ("Z1", "headstock", View.ALONG),
    ("X2", "sub-spindle", View.RIGHT),
    ("Z2", "sub-spindle", View.ALONG),
)
TURRET_AXES = (
    ("X1", "turret", View.DOWN),
    ("Y1", "turret", View.LEFT),
    ("Z1", "headstock", View.ALONG),
    ("X2", "sub-spindle", View.RIGHT),
    ("Z2", "sub-spindle", View.ALONG),
)
# name, from what to what, profile, pitch in mm, teeth, width in mm, part number of the firm
JACK = ("jack shaft belt", "main spindle to jack shaft", "5M", "5", 95, "25", "TO-5M95-25")
GUIDE = ("guide bushing belt", "jack shaft to guide bushing", "5M", "5", 64, "15", "TO-5M64-15")
SUB = ("sub-spindle belt", "motor to sub-spindle", "5M", "5", 80, "15", "TO-5M80-15")
MAIN = ("main spindle belt", "motor to main spindle", "8M", "8", 90, "30", "TO-8M90-30")
SMALL_JACK = ("jack shaft belt", "main spindle to jack shaft", "XL", "5.08", 75, "12.7", "TO-XL75")
SMALL_GUIDE = (
    "guide bushing belt", "jack shaft to guide bushing", "XL", "5.08", 50, "9.525", "TO-XL50"
)  # fmt: skip


@dataclass(frozen=True)
class Listed:
    """A machine as it is entered."""

    shop: str
    number: str
    name: str
    model_name: str
    serial: str
    built: int
    axes: tuple
    belts: tuple
    note: str = ""


REGISTER = [
    Listed("quarlow", "1", "by the window", "20 mm, gang slide", "20-0417", 2015,
           GANG_AXES, (JACK, GUIDE)),
    Listed("quarlow", "2", "by the door", "20 mm, gang slide", "20-0533", 2017,
           GANG_AXES, (JACK, GUIDE)),
    Listed("quarlow", "3", "short parts", "20 mm, gang slide", "20-0418", 2015,
           GANG_AXES, (MAIN, SUB), "Converted to run without a guide bushing."),
    Listed("pintlow", "A", "long bar", "12 mm, gang slide", "12-0209", 2011,
           GANG_AXES, (SMALL_JACK, SMALL_GUIDE)),
    Listed("pintlow", "B", "fittings", "20 mm, gang slide", "20-0671", 2019,
           GANG_AXES, (JACK, GUIDE)),
    Listed("pintlow", "C", "shafts", "32 mm, turret", "32-0088", 2013,
           TURRET_AXES, (MAIN, SUB)),
]  # fmt: skip
# Belts were new this long before the demo's first visit.
BELTS_FITTED_DAYS_AGO = 1150


def install(scene):
    """Enter the machines with what belongs to them."""
    for listed in REGISTER:
        machine = Machine.objects.create(
            shop=scene.shops[listed.shop],
            number=listed.number,
            name=listed.name,
            model_name=listed.model_name,
            serial=listed.serial,
            built=listed.built,
            note=listed.note,
        )
        for name, moves, view in listed.axes:
            Axis.objects.create(machine=machine, name=name, moves=moves, view=view)
        for belt in listed.belts:
            _belt(scene, machine, *belt)
        scene.machines[listed.number] = machine


def _belt(scene, machine, name, drives, profile, pitch_mm, teeth, width_mm, part_number):
    part, _ = Part.objects.get_or_create(
        firm=scene.firm,
        number=part_number,
        defaults={
            "description": f"{name}, {teeth} teeth",
            "price": teeth * PRICE_OF_A_TOOTH,
            "fitting_h": FITTING_H,
        },
    )
    Belt.objects.create(
        machine=machine,
        name=name,
        drives=drives,
        profile=profile,
        pitch_mm=Decimal(pitch_mm),
        teeth=teeth,
        width_mm=Decimal(width_mm),
        part=part,
        fitted_on=(scene.now - timedelta(days=BELTS_FITTED_DAYS_AGO)).date(),
    )
