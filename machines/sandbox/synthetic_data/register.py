"""The fleet's machines with their drive trains, as they stood when the record began."""

from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal

from machines.drive.models import Assembly, Bearing, Belt, Part
from machines.planning.models import Plan, PlanSubject
from machines.register.models import CODE_LENGTH, CODE_LETTERS, Axis, Machine, MeterReading
from machines.sandbox.demo import (
    BEARINGS,
    FITTING_H,
    GANG_AXES,
    GUIDE,
    HOUSING,
    JACK,
    JACK_SHAFT,
    MAIN,
    RENEW_BUSHING_AFTER_H,
    SUB,
    TURRET_AXES,
    bearing_facts,
)

TENTH = Decimal("0.1")
FIRST_FITTED_HOURS = (500, 20_000)


@dataclass(frozen=True)
class Layout:
    """A way a machine is built: its chain by name, its axes and belts."""

    chain: str
    words: str
    axes: tuple
    belts: tuple


LAYOUTS = (
    Layout("guide bushing", "gang slide", GANG_AXES, (JACK, GUIDE)),
    Layout("headstock", "gang slide, no bushing", GANG_AXES, (MAIN, SUB)),
    Layout("turret", "turret", TURRET_AXES, (MAIN, SUB)),
)
LAYOUT_WEIGHTS = (6, 2, 2)
BARS_MM = (12, 16, 20, 32)
# Weibull shape and scale in spindle hours of a belt's life, alike for belts alike; invented.
BELT_LIVES_H = {
    "jack shaft belt": (2.6, 7500.0),
    "guide bushing belt": (2.4, 7000.0),
    "main spindle belt": (3.0, 9000.0),
    "sub-spindle belt": (2.4, 7000.0),
}
PLANS = (
    (Plan.Kind.ALIGNMENT, "Check the alignment of the whole chain", {"months": 7}),
    (Plan.Kind.BELT, "Look at the belts, tooth by tooth", {"spindle_hours": 2600}),
    (Plan.Kind.LUBRICATION, "Clean the lubricator's filter", {"weeks": 13}),
)


@dataclass
class Stand:
    """A machine of the fleet and what happens to it; `hours_per_day` never changes, so that a
    rate per hour and one per day are one truth."""

    machine: Machine
    layout: Layout
    hours_per_day: float
    hours_at_start: float
    truth: dict
    axes: list = field(default_factory=list)
    belts: list = field(default_factory=list)
    bearings: list = field(default_factory=list)
    stations: list = field(default_factory=list)
    items: list = field(default_factory=list)
    incidents: list = field(default_factory=list)
    stays: list = field(default_factory=list)

    def hours(self, fleet, moment):
        """Spindle hours run since the record began."""
        return (moment - fleet.began).total_seconds() / 86400 * self.hours_per_day

    def moment(self, fleet, hours):
        """When so many hours had run since the record began."""
        return fleet.began + timedelta(days=hours / self.hours_per_day)

    def shows(self, hours):
        """What the meter shows then, to a tenth."""
        return Decimal(str(self.hours_at_start + hours)).quantize(TENTH)


def install(fleet, batch):
    """Machines, axes, belts, bearings, parts in stock, first meter readings and plans."""
    parts = _stock(fleet, batch)
    for shop, size in zip(batch.shops, batch.sizes, strict=True):
        batch.stands += [_stand(fleet, shop, place) for place in range(1, size + 1)]
    fleet.add(stand.machine for stand in batch.stands)
    for stand in batch.stands:
        fleet.truth[stand.machine.pk] = stand.truth
    for stand in batch.stands:
        stand.axes = [
            Axis(machine=stand.machine, name=name, moves=moves, plus=plus)
            for name, moves, plus in stand.layout.axes
        ]
    fleet.add(axis for stand in batch.stands for axis in stand.axes)
    _drive_trains(fleet, batch, parts)
    fleet.add(
        MeterReading(
            machine=stand.machine,
            read_at=fleet.began,
            value=stand.shows(0),
            **fleet.entered(batch.operators[stand.machine.shop_id], fleet.began),
        )
        for stand in batch.stands
    )
    _plans(fleet, batch)


def _stand(fleet, shop, place):
    rng = fleet.rng
    (layout,) = rng.choices(LAYOUTS, LAYOUT_WEIGHTS)
    bar = rng.choice(BARS_MM)
    machine = Machine(
        shop=shop,
        number=f"{place:02d}",
        name=f"{bar} mm bar, row {(place - 1) // 5 + 1}",
        model_name=f"{bar} mm, {layout.words}",
        serial=f"{bar}-{rng.randrange(10**6):06d}",
        built=fleet.began.year - rng.randrange(1, 18),
        code="".join(rng.choices(CODE_LETTERS, k=CODE_LENGTH + 4)),
    )
    per_day = round(rng.uniform(4, 14), 1)
    truth = {"hours_per_day": per_day, "items": {}, "belts": {}}
    return Stand(machine, layout, per_day, float(rng.randrange(*FIRST_FITTED_HOURS)), truth)


def _stock(fleet, batch):
    """The firm's parts, by the belt they are for."""
    belts = {belt.name: belt for layout in LAYOUTS for belt in layout.belts}.values()
    parts = fleet.add(
        Part(
            firm=batch.firm,
            number=belt.part,
            description=f"{belt.name}, {belt.teeth} teeth",
            price=Decimal(belt.price),
            lead_time_days=6,
            minimum=2,
            on_shelf=fleet.rng.randrange(0, 9),
            in_van=fleet.rng.randrange(0, 3),
            fitting_h=FITTING_H,
        )
        for belt in belts
    )
    return dict(zip([belt.name for belt in belts], parts, strict=True))


def _drive_trains(fleet, batch, parts):
    rows = []
    for stand in batch.stands:
        for belt in stand.layout.belts:
            stand.belts.append(
                Belt(
                    machine=stand.machine,
                    part=parts[belt.name],
                    fitted_on=fleet.began.date(),
                    **belt.facts(),
                )
            )
        rows += stand.belts
    fleet.add(rows)
    driven = [stand for stand in batch.stands if GUIDE in stand.layout.belts]
    inside = {
        (one.machine_id, one.kind): one
        for one in fleet.add(
            Assembly(
                machine=stand.machine,
                kind=kind,
                preload="light, by spring washer",
                renew_after_h=RENEW_BUSHING_AFTER_H if kind == HOUSING else None,
            )
            for stand in driven
            for kind in (HOUSING, JACK_SHAFT)
        )
    }
    for stand in driven:
        stand.bearings = [
            Bearing(
                machine=stand.machine,
                assembly=inside[stand.machine.pk, listed[1]],
                fitted_on=fleet.began.date(),
                **bearing_facts(listed),
            )
            for listed in BEARINGS
        ]
    fleet.add(bearing for stand in driven for bearing in stand.bearings)


def _plans(fleet, batch):
    """For every machine of a model in a shop: the chain and the belts; oil for each machine."""
    models = {(s.machine.shop_id, s.machine.model_name): s.machine.shop for s in batch.stands}
    plans = [
        _plan(fleet, batch, shop, kind, what, often, model_name=model)
        for (_shop_id, model), shop in models.items()
        for kind, what, often in PLANS[:2]
    ]
    kind, what, often = PLANS[2]
    plans += [
        _plan(fleet, batch, stand.machine.shop, kind, what, often, machine=stand.machine)
        for stand in batch.stands
    ]
    fleet.add(plans)
    belts = {stand.machine.model_name: stand.layout.belts for stand in batch.stands}
    fleet.add(
        PlanSubject(plan=plan, name=belt.name)
        for plan in plans
        if plan.kind == Plan.Kind.BELT
        for belt in belts[plan.model_name]
    )


def _plan(fleet, batch, shop, kind, what, often, **whose):
    """A plan from when the record began; a machine's own was last done within its interval."""
    since = fleet.began
    if "machine" in whose:
        since = max(since, fleet.now - timedelta(days=fleet.rng.randrange(100)))
    return Plan(
        shop=shop,
        kind=kind,
        what=what,
        starts_on=since.astimezone(shop.zone).date(),
        cost=Decimal(fleet.rng.randrange(60, 500, 10)),
        **often,
        **whose,
        **fleet.entered(batch.owners[shop.pk], since),
    )
