"""The demo's six machines, their axes and drive trains; all names and numbers are invented."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from machines.drive.models import Assembly, Bearing, Belt, Part
from machines.drive.services import note_rebuild
from machines.register.models import Axis, Machine
from machines.visit_work.services import read_meter

Plus = Axis.Plus

FITTING_H = Decimal("0.75")

GANG_AXES = (
    ("X1", "gang tool slide", Plus.UP),
    ("Y1", "gang tool slide", Plus.FRONT),
    ("Z1", "headstock", Plus.AWAY),
    ("X2", "sub-spindle", Plus.FRONT),
    ("Z2", "sub-spindle", Plus.AWAY),
)
TURRET_AXES = (
    ("X1", "turret", Plus.DOWN),
    ("Y1", "turret", Plus.REAR),
    ("Z1", "headstock", Plus.AWAY),
    ("X2", "sub-spindle", Plus.FRONT),
    ("Z2", "sub-spindle", Plus.AWAY),
)


@dataclass(frozen=True)
class ListedBelt:
    """A belt as it is entered; pulleys: teeth of the driving and of the driven one."""

    name: str
    drives: str
    profile: str
    pitch_mm: str
    teeth: int
    width_mm: str
    part: str
    price: str
    pulleys: tuple[int, int]
    mass_kg_per_m: str
    tension_n: tuple[int, int]
    place: int | None = None

    def facts(self):
        """The fields of a `Belt` that are listed."""
        return {
            "name": self.name,
            "drives": self.drives,
            "profile": self.profile,
            "pitch_mm": Decimal(self.pitch_mm),
            "teeth": self.teeth,
            "width_mm": Decimal(self.width_mm),
            "driving_teeth": self.pulleys[0],
            "driven_teeth": self.pulleys[1],
            "place_in_path": self.place,
            "mass_kg_per_m": Decimal(self.mass_kg_per_m),
            "tension_low_n": self.tension_n[0],
            "tension_high_n": self.tension_n[1],
        }


MAIN_TO_JACK, JACK_TO_GUIDE = "main spindle to jack shaft", "jack shaft to guide bushing"
JACK = ListedBelt(
    "jack shaft belt", MAIN_TO_JACK, "5M", "5", 95, "25", "TO-5M95-25", "61.00", (40, 32), "0.105",
    (160, 210), 1,
)  # fmt: skip
GUIDE = ListedBelt(
    "guide bushing belt", JACK_TO_GUIDE, "5M", "5", 64, "15", "TO-5M64-15", "48.50", (32, 40),
    "0.063", (95, 125), 2,
)  # fmt: skip
SUB = ListedBelt(
    "sub-spindle belt", "motor to sub-spindle", "5M", "5", 80, "15", "TO-5M80-15", "52.00",
    (32, 32), "0.063", (95, 125),
)  # fmt: skip
MAIN = ListedBelt(
    "main spindle belt", "motor to main spindle", "8M", "8", 90, "30", "TO-8M90-30", "94.00",
    (36, 36), "0.186", (320, 410),
)  # fmt: skip
SMALL_JACK = ListedBelt(
    "jack shaft belt", MAIN_TO_JACK, "XL", "5.08", 75, "12.7", "TO-XL75", "34.00", (30, 24),
    "0.030", (60, 80), 1,
)  # fmt: skip
SMALL_GUIDE = ListedBelt(
    "guide bushing belt", JACK_TO_GUIDE, "XL", "5.08", 50, "9.525", "TO-XL50", "29.00", (24, 30),
    "0.023", (45, 60), 2,
)  # fmt: skip
# Invented bearings of the housing and the jack shaft: where, inside what, bore, balls, ball and
# pitch diameter in mm, contact angle, C and C0 in N, typical speed and load.
HOUSING, JACK_SHAFT = Assembly.Kind.HOUSING, Assembly.Kind.JACK_SHAFT
BEARINGS = [
    ("guide bushing housing, front", HOUSING, "55", 22, "7.938", "72.5", "15", 14800, 12600, 4000,
     520),
    ("guide bushing housing, rear", HOUSING, "55", 22, "7.938", "72.5", "15", 14800, 12600, 4000,
     520),
    ("jack shaft, belt end", JACK_SHAFT, "25", 9, "7.938", "38.5", "0", 14000, 7800, 5000, 600),
]  # fmt: skip
SPINDLE_HOURS_PER_DAY = Decimal("5.5")
RENEW_BUSHING_AFTER_H = 9000


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
        for name, moves, plus in listed.axes:
            Axis.objects.create(machine=machine, name=name, moves=moves, plus=plus)
        for belt in listed.belts:
            _belt(scene, machine, belt)
        _read_meter_when_fitted(scene, machine)
        if JACK_TO_GUIDE in [belt.drives for belt in listed.belts]:
            _guide_bushing_drive(scene, machine)
        scene.machines[listed.number] = machine


def _belt(scene, machine, listed):
    part, _ = Part.objects.get_or_create(
        firm=scene.firm,
        number=listed.part,
        defaults={
            "description": f"{listed.name}, {listed.teeth} teeth",
            "price": Decimal(listed.price),
            "lead_time_days": 6,
            "minimum": 1,
            "on_shelf": 2,
            "in_van": 1,
            "fitting_h": FITTING_H,
        },
    )
    Belt.objects.create(machine=machine, part=part, fitted_on=_fitted_on(scene), **listed.facts())


def _fitted_on(scene):
    return (scene.now - timedelta(days=BELTS_FITTED_DAYS_AGO)).date()


def meter_shows(machine, day):
    """What the spindle hours of a machine of the demo stand at on a day."""
    return SPINDLE_HOURS_PER_DAY * (day - date(machine.built, 7, 1)).days


def _read_meter_when_fitted(scene, machine):
    """The meter was read when the belts and bearings were new, so that their hours are known."""
    read_meter(
        machine=machine,
        made_by=scene.people["contractor"],
        value=meter_shows(machine, _fitted_on(scene)),
        read_at=scene.now - timedelta(days=BELTS_FITTED_DAYS_AGO),
    )


def _guide_bushing_drive(scene, machine):
    """The housing and the jack shaft with their bearings, and the last time each was rebuilt."""
    inside = {}
    for kind in (HOUSING, JACK_SHAFT):
        inside[kind] = Assembly.objects.create(
            machine=machine,
            kind=kind,
            preload="light, by spring washer",
            renew_after_h=RENEW_BUSHING_AFTER_H if kind == HOUSING else None,
        )
    note_rebuild(
        assembly=inside[HOUSING],
        made_by=scene.people["contractor"],
        made_at=scene.now - timedelta(days=BELTS_FITTED_DAYS_AGO),
        rebuilt_on=_fitted_on(scene),
        who=scene.people["contractor"].name,
        fitted="both bearings and the guide bushing",
        new_bushing=True,
        feel_before="gritty, warm after an hour",
        feel_after="smooth",
    )
    for listed in BEARINGS:
        Bearing.objects.create(
            machine=machine,
            assembly=inside[listed[1]],
            fitted_on=_fitted_on(scene),
            **bearing_facts(listed),
        )


def bearing_facts(listed):
    """The fields of a `Bearing` that a line of BEARINGS names."""
    name, _inside, bore, balls, ball, pitch, angle, c, c0, speed, load = listed
    return {
        "name": name,
        "bore_mm": Decimal(bore),
        "balls": balls,
        "ball_mm": Decimal(ball),
        "pitch_mm": Decimal(pitch),
        "contact_deg": Decimal(angle),
        "c_n": c,
        "c0_n": c0,
        "speed_rpm": speed,
        "load_n": load,
    }
