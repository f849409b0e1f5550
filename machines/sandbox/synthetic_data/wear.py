"""What the meters of the fleet show at its visits, and how long its belts live."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from machines.drive.models import Belt, Fitting, Removal
from machines.register.models import MeterReading

from .register import BELT_LIVES_H, Stand
from .visits import Stay

# From this share of the usual life on some belts are replaced as planned, while still good.
PLANNED_FROM, PLANNED_CHANCE = 0.85, 0.3


@dataclass
class BeltLife:
    """One belt in its place: the spindle hours it began at, how long it would live, when it came
    out and why; `fitting` stays None where nothing was ever fitted since the record began."""

    stand: Stand
    belt: Belt
    start_h: float
    life_h: float
    until: datetime
    why: str = ""
    stay: Stay | None = None
    fitting: Fitting | None = None


def read_meters(fleet, batch):
    """The spindle hours at every visit, and today, as the operator reads them."""
    fleet.add(
        _shown(fleet, stand, stay.at, batch.contractor, stay.visit)
        for stand in batch.stands
        for stay in stand.stays
    )
    fleet.add(
        _shown(fleet, stand, fleet.now, batch.operators[stand.machine.shop_id])
        for stand in batch.stands
    )


def _shown(fleet, stand, at, by, visit=None):
    return MeterReading(
        machine=stand.machine,
        visit=visit,
        read_at=at,
        value=stand.shows(stand.hours(fleet, at)),
        **fleet.entered(by, at),
    )


def live(fleet, batch):
    """The belts of every machine: they break, are replaced while good, or run on.

    A belt breaks at the end of its life, which is drawn from `BELT_LIVES_H`, and the shop puts in
    another at once. Replacing some while good does not depend on what life they had left.
    """
    for stand in batch.stands:
        for belt in stand.belts:
            _one_place(fleet, batch, stand, belt)
    lives = batch.lives
    fleet.add(life.fitting for life in lives if life.fitting)
    fleet.add(_removal(fleet, batch, life) for life in lives if life.why)
    replaced = {life.belt.pk: life.belt for life in lives if life.why}
    Belt.objects.bulk_update(replaced.values(), ["fitted_on"], batch_size=200)


def _one_place(fleet, batch, stand, belt):
    shape, scale = BELT_LIVES_H[belt.name]
    start_h, zone, came_with = 0.0, stand.machine.shop.zone, None
    while True:
        life = BeltLife(stand, belt, start_h, fleet.rng.weibullvariate(scale, shape), fleet.now)
        stand.truth["belts"].setdefault(belt.name, []).append(round(life.life_h, 2))
        _end(fleet, life, scale)
        life.fitting = came_with
        if life.why and came_with is None:
            life.fitting = _fitting(fleet, batch, belt, fleet.began, None, from_the_start=True)
        batch.lives.append(life)
        if not life.why:
            return
        came_with = _fitting(fleet, batch, belt, life.until, life.stay)
        belt.fitted_on = life.until.astimezone(zone).date()
        start_h = stand.hours(fleet, life.until)


def _end(fleet, life, scale):
    """When and why a belt came out, if it did."""
    stand = life.stand
    for stay in stand.stays:
        age = stand.hours(fleet, stay.at) - life.start_h
        old_enough = PLANNED_FROM * scale < age < life.life_h
        if old_enough and fleet.rng.random() < PLANNED_CHANCE:
            life.until, life.stay = stay.at + timedelta(minutes=70), stay
            life.why = Removal.Why.PLANNED
            return
    breaks_at = stand.moment(fleet, life.start_h + life.life_h)
    if breaks_at < fleet.now:
        life.until, life.why = breaks_at, Removal.Why.BROKE


def _fitting(fleet, batch, belt, at, stay, *, from_the_start=False):
    known = {} if from_the_start else {"serial": f"LOT-{fleet.rng.randrange(10**5):05d}"}
    return Fitting(
        belt=belt,
        part=belt.part,
        visit=stay.visit if stay else None,
        fitted_at=at,
        from_the_start=from_the_start,
        unit_price=None if from_the_start else belt.part.price,
        **known,
        **fleet.entered(batch.contractor, at),
    )


def _removal(fleet, batch, life):
    by = batch.contractor if life.stay else batch.owners[life.stand.machine.shop_id]
    return Removal(
        fitting=life.fitting,
        visit=life.stay.visit if life.stay else None,
        removed_at=life.until,
        why=life.why,
        **fleet.entered(by, life.until),
    )
