"""Builds records for tests: believable defaults, so that a test names only what it is about.

The factories write straight to the database. What is entered at a visit (checks, adjustments,
inspections, incidents) goes through the services in tests too; the helpers at the end do that.
"""

import io
import math
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import factory
from django.contrib.auth.hashers import make_password
from django.core.files.base import ContentFile
from django.utils import timezone
from PIL import Image

from alignment.sheets.models import AcceptanceItem, AcceptanceSheet
from machines.drive.models import Assembly, Bearing, Belt, Part
from machines.incidents.models import Incident
from machines.register.models import Axis, Machine, Station, StationMover, VisitedMachine
from shop.billing.models import Quote, Rate, TaxCategory
from shop.calendar.services import closed_why
from shop.people.models import Firm, FirmMembership, Membership, Role, Shop, User
from shop.visits.models import Visit

ZURICH = "Europe/Zurich"
PASSWORD = "brass-drift-and-indicator"


class UserFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"person{n}")
    first_name = "Pat"
    last_name = factory.Sequence(lambda n: f"Number{n}")
    password = factory.LazyFunction(lambda: make_password(PASSWORD))


class FirmFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Firm

    name = factory.Sequence(lambda n: f"Service firm {n}")
    address = "1 Workshop Lane\nOldbridge"
    phone = "555 0100"
    email = "desk@firm.example"


class TaxCategoryFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = TaxCategory

    firm = factory.SubFactory(FirmFactory)
    name = factory.LazyAttribute(lambda made: f"VAT {made.percent} %")
    code = "S"
    percent = Decimal("20")
    is_usual = True


class RateFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Rate

    firm = factory.SubFactory(FirmFactory)
    kind = Rate.Kind.NORMAL
    name = factory.LazyAttribute(lambda made: f"Labour, {made.kind}")
    unit = "h"
    price = Decimal("88")
    tax = factory.SubFactory(TaxCategoryFactory, firm=factory.SelfAttribute("..firm"))


class ShopFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Shop

    name = factory.Sequence(lambda n: f"Shop {n}")
    address = "2 Mill Street\nOldbridge"
    time_zone = ZURICH
    length_unit = "mm"


class MembershipFactory(factory.django.DjangoModelFactory):
    """A person's role at a shop; a contractor comes from a firm without being told which."""

    class Meta:
        model = Membership

    user = factory.SubFactory(UserFactory)
    shop = factory.SubFactory(ShopFactory)
    role = Role.OPERATOR
    firm = factory.Maybe(
        factory.LazyAttribute(lambda made: made.role == Role.CONTRACTOR),
        yes_declaration=factory.SubFactory(FirmFactory),
        no_declaration=None,
    )


class FirmMembershipFactory(factory.django.DjangoModelFactory):
    """Somebody of a firm, with or without a shop to serve."""

    class Meta:
        model = FirmMembership

    user = factory.SubFactory(UserFactory)
    firm = factory.SubFactory(FirmFactory)


class MachineFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Machine

    shop = factory.SubFactory(ShopFactory)
    number = factory.Sequence(lambda n: f"M{n}")
    name = "slider 20 mm"
    model_name = "20-5"
    serial = factory.Sequence(lambda n: f"S{n:05d}")
    built = 2014


class PartFactory(factory.django.DjangoModelFactory):
    """A part kept by a shop; give `shop=None, firm=...` for a firm's own."""

    class Meta:
        model = Part
        django_get_or_create = ("shop", "firm", "number")

    shop = factory.SubFactory(ShopFactory)
    firm = None
    number = factory.Sequence(lambda n: f"P-{n:04d}")
    description = "synchronous belt"


class BeltFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Belt

    machine = factory.SubFactory(MachineFactory)
    name = factory.Sequence(lambda n: f"belt {n}")
    drives = "main motor to jack shaft"
    profile = "5M"
    pitch_mm = Decimal("5")
    teeth = 90
    width_mm = Decimal("25")
    fitted_on = date(2022, 3, 1)


class AxisFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Axis

    machine = factory.SubFactory(MachineFactory)
    name = factory.Sequence(lambda n: f"X{n}")
    moves = "gang tool slide"
    plus = Axis.Plus.FRONT


class IncidentFactory(factory.django.DjangoModelFactory):
    """An incident's record alone; `machines.incidents.services.log_incident` also stops the
    machine."""

    class Meta:
        model = Incident

    machine = factory.SubFactory(MachineFactory)
    made_by = factory.SubFactory(UserFactory)
    happened_at = factory.LazyFunction(timezone.now)
    what_hit = "gang tool holder"
    hit_what = "sub-spindle nose"
    severity = Incident.Severity.KNOCK
    may_run = True


class QuoteFactory(factory.django.DjangoModelFactory):
    """A quote's head alone, not sealed yet; `shop.billing.quotes.issue_quote` makes whole ones."""

    class Meta:
        model = Quote

    number = factory.Sequence(lambda n: f"QU-2025-{n:04d}")
    firm = factory.SubFactory(FirmFactory)
    shop = factory.SubFactory(ShopFactory)
    made_by = factory.SubFactory(UserFactory)
    issued_on = date(2025, 3, 10)
    valid_until = date(2025, 4, 10)
    currency = "EUR"
    net = tax = gross = Decimal("0")


class VisitFactory(factory.django.DjangoModelFactory):
    """A visit that is planned; a service makes it 'on site' with the first thing done at it."""

    class Meta:
        model = Visit

    number = factory.Sequence(lambda n: f"2025-{n + 1:03d}")
    shop = factory.SubFactory(ShopFactory)
    firm = factory.SubFactory(FirmFactory)
    contractor = factory.SubFactory(UserFactory)
    made_by = factory.SelfAttribute("contractor")
    purpose = "realign after a crash"


class VisitedMachineFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = VisitedMachine

    machine = factory.SubFactory(MachineFactory)
    visit = factory.SubFactory(VisitFactory, shop=factory.SelfAttribute("..machine.shop"))


class StationFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Station

    machine = factory.SubFactory(MachineFactory)
    name = "headstock spindle"
    kind = Station.Kind.HEADSTOCK
    position = factory.Sequence(lambda n: n + 1)


class AcceptanceSheetFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = AcceptanceSheet

    machine = factory.SubFactory(MachineFactory)
    name = "factory sheet"
    dated = date(2014, 5, 6)


class AcceptanceItemFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = AcceptanceItem

    sheet = factory.SubFactory(AcceptanceSheetFactory)
    station = factory.SubFactory(StationFactory, machine=factory.SelfAttribute("..sheet.machine"))
    position = factory.Sequence(lambda n: n + 1)
    name = "bore to the headstock axis"
    upper_um = Decimal("10")
    factory_um = Decimal("3")


# The usual chain (common practice, no source): kind, name, the kind of its datum.
CHAIN = [
    (Station.Kind.HEADSTOCK, "headstock spindle", None),
    (Station.Kind.GUIDE_BUSHING, "guide bushing housing", Station.Kind.HEADSTOCK),
    (Station.Kind.SUB_SPINDLE, "sub-spindle", Station.Kind.GUIDE_BUSHING),
    (Station.Kind.BACK_TOOLS, "back tool station", Station.Kind.SUB_SPINDLE),
    (Station.Kind.GANG_TOOLS, "gang tool slide", Station.Kind.GUIDE_BUSHING),
]
# kind of station, what is measured, quantity, surface, lower, upper, factory figure in µm.
ITEMS = [
    (Station.Kind.HEADSTOCK, "run-out of the spindle bore", "tir", "bore", None, "5", "2"),
    (Station.Kind.GUIDE_BUSHING, "bore to the headstock axis", "offset", "bore", None, "10", "3"),
    (Station.Kind.SUB_SPINDLE, "bore to the guide bushing", "offset", "bore", None, "15", "6"),
    (Station.Kind.BACK_TOOLS, "tool bore to the sub-spindle", "offset", "bore", None, "20", "8"),
    (Station.Kind.GANG_TOOLS, "tool position, sideways", "front", "boss", "-20", "20", "5"),
    (Station.Kind.GANG_TOOLS, "tool position, height", "up", "boss", "-15", "15", "-4"),
]
AXES = [
    ("X1", "gang tool slide", Axis.Plus.UP),
    ("Y1", "gang tool slide", Axis.Plus.FRONT),
    ("Z1", "headstock", Axis.Plus.AWAY),
    ("X2", "sub-spindle", Axis.Plus.FRONT),
    ("Z2", "sub-spindle", Axis.Plus.AWAY),
]


def five_station_machine(shop=None, **machine):
    """A machine with the usual chain, a sheet in force with six items, five axes and two belts."""
    machine = MachineFactory(**({"shop": shop} if shop else {}), **machine)
    stations = {}
    for position, (kind, name, datum) in enumerate(CHAIN, start=1):
        stations[kind] = StationFactory(
            machine=machine, kind=kind, name=name, position=position, datum=stations.get(datum)
        )
    sheet = AcceptanceSheetFactory(machine=machine)
    for position, (kind, name, quantity, surface, lower, upper, found) in enumerate(ITEMS, start=1):
        AcceptanceItemFactory(
            sheet=sheet,
            station=stations[kind],
            position=position,
            name=name,
            quantity=quantity,
            surface=surface,
            lower_um=lower and Decimal(lower),
            upper_um=Decimal(upper),
            factory_um=Decimal(found),
        )
    for name, moves, plus in AXES:
        axis = AxisFactory(machine=machine, name=name, moves=moves, plus=plus)
        for station in machine.stations.filter(name=moves):
            StationMover.objects.create(station=station, axis=axis)
    BeltFactory(machine=machine, name="jack shaft belt", teeth=90)
    BeltFactory(
        machine=machine,
        name="guide bushing belt",
        drives="jack shaft to guide bushing",
        teeth=60,
        part=PartFactory(shop=machine.shop, number="GB-60", description="guide bushing belt"),
    )
    return machine


def station_of(machine, kind):
    """The machine's station of a kind, such as "guide bushing"."""
    return machine.stations.get(kind=kind)


def item_of(machine, kind):
    """The first item of the sheet in force at the machine's station of a kind."""
    return AcceptanceItem.objects.filter(
        station__machine=machine, station__kind=kind, sheet__is_current=True
    ).first()


def typed_sweep(right_um=0.0, up_um=0.0, *, surface="bore", angles=(0, 90, 180, 270), u_um="0.5"):
    """A sweep typed in µm that shows a centre at (right, up), to a tenth of a micrometre.

    In a bore an indicator shows −e·u(θ), on a boss +e·u(θ), with u(θ) = (sin θ, cos θ).
    """
    from alignment.sweeps.measuring import TypedReading, TypedSweep

    sign = -1 if surface == "bore" else 1
    readings = []
    for angle in angles:
        theta = math.radians(angle)
        shown = sign * (right_um * math.sin(theta) + up_um * math.cos(theta))
        text = f"{shown:.1f}"
        readings.append(TypedReading(float(angle), text, "um", Decimal(text)))
    return TypedSweep(
        surface=surface,
        unit="um",
        readings=tuple(readings),
        reading_u_um=Decimal(u_um),
        reading_u_typed=u_um,
    )


def at(day, hour=9, minute=0, month=3, year=2025):
    """A moment in UTC; March 2025 unless told otherwise."""
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


def today():
    """The day it is at the tests' shops, which may be another than the server's."""
    return timezone.localdate(timezone=ZoneInfo(ZURICH))


def workday(shop, days_ahead):
    """The first day from so many days ahead of the shop's today on which the shop works."""
    day = timezone.localdate(timezone=shop.zone) + timedelta(days=days_ahead)
    while closed_why(shop, day):
        day += timedelta(days=1)
    return day


class AssemblyFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Assembly

    machine = factory.SubFactory(MachineFactory)
    kind = Assembly.Kind.HOUSING


class BearingFactory(factory.django.DjangoModelFactory):
    """A small deep-groove ball bearing with invented figures."""

    class Meta:
        model = Bearing

    machine = factory.SubFactory(MachineFactory)
    name = factory.Sequence(lambda n: f"housing, place {n}")
    designation = "61907"
    balls = 11
    ball_mm = Decimal("6.35")
    pitch_mm = Decimal("45")
    c_n = Decimal("9600")
    speed_rpm = Decimal("4000")
    load_n = Decimal("500")
    fitted_on = date(2022, 3, 1)


def metered(machine, person, shown):
    """Meter readings of a machine: the moment to the spindle hours it showed."""
    from machines.visit_work.services import read_meter

    for moment, hours in sorted(shown.items()):
        read_meter(machine=machine, made_by=person, value=Decimal(hours), read_at=moment)


def photo_file(colour="grey"):
    """A small photo, as a file that was cleaned."""
    out = io.BytesIO()
    Image.new("RGB", (8, 8), colour).save(out, "JPEG")
    return ContentFile(out.getvalue(), name="a.jpg")
