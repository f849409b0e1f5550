"""What goes wrong at the fleet's machines, and who comes when."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from machines.incidents.models import Incident, IncidentStep
from machines.register.models import Standstill, VisitedMachine
from shop.sandbox.synthetic_data.scene import DAYS_PER_YEAR
from shop.visits.models import Visit

from .register import Stand

INCIDENTS_A_YEAR = 0.35
HARD_SHARE = 0.3
MACHINES_A_DAY = 5
MINUTES_A_MACHINE = 95
WHAT_HIT = ("gang tool holder", "broken drill", "bar end", "part stuck in the collet")


@dataclass
class Day:
    """One visit to a shop and the machines worked on at it."""

    visit: Visit
    start: datetime
    stands: list[Stand]
    stays: list = field(default_factory=list)


@dataclass
class Stay:
    """One machine at one visit: from when, and which incident called for it."""

    day: Day
    stand: Stand
    at: datetime
    incident: Incident | None = None

    @property
    def visit(self):
        return self.day.visit


def let_happen(fleet, batch):
    """Incidents over the years; the hard ones stop the machine and bring somebody within days."""
    rng = fleet.rng
    for stand in batch.stands:
        days = rng.expovariate(INCIDENTS_A_YEAR / DAYS_PER_YEAR)
        while (when := fleet.began + timedelta(days=days)) < fleet.now:
            stand.incidents.append(_incident(fleet, batch, stand, when))
            days += rng.expovariate(INCIDENTS_A_YEAR / DAYS_PER_YEAR)
    fleet.add(incident for stand in batch.stands for incident in stand.incidents)


def _incident(fleet, batch, stand, when):
    rng = fleet.rng
    hard = rng.random() < HARD_SHARE
    hit = rng.choice(stand.stations[1:])
    return Incident(
        machine=stand.machine,
        happened_at=when,
        kind=Incident.Kind.HIT,
        place=hit.name,
        axis="X1",
        direction=rng.choice(["plus", "minus"]),
        what_hit=rng.choice(WHAT_HIT),
        hit_what=hit.name,
        severity=Incident.Severity.HARD if hard else Incident.Severity.KNOCK,
        may_run=not hard,
        **fleet.entered(batch.operators[stand.machine.shop_id], when),
    )


def come(fleet, batch):
    """The visits: each machine in turn, and the calls after hard incidents; one lies ahead."""
    by_shop = {}
    for stand in batch.stands:
        by_shop.setdefault(stand.machine.shop_id, []).append(stand)
    for shop in batch.shops:
        stands = by_shop[shop.pk]
        groups = [
            stands[first : first + MACHINES_A_DAY]
            for first in range(0, len(stands), MACHINES_A_DAY)
        ]
        days = [day for group in groups for day in _regular(fleet, batch, shop, group)]
        days += [day for stand in stands for day in _calls(fleet, batch, shop, stand, days)]
        batch.days += sorted(days, key=lambda day: day.start)
        batch.days.append(_ahead(fleet, batch, shop, groups[0]))
    for day in batch.days:
        day.visit.number = fleet.next_number(batch.firm, "visit", day.start.year)
    fleet.add(day.visit for day in batch.days)
    _take_up(fleet, batch)


def _regular(fleet, batch, shop, group):
    """The first within three weeks of the record's beginning, then in even steps with some play."""
    step = DAYS_PER_YEAR / fleet.asked.visits_a_year
    play = min(10.0, step / 8)
    for count in range(max(1, round(fleet.asked.years * fleet.asked.visits_a_year))):
        after = 7 + count * step + fleet.rng.uniform(0, play)
        start = fleet.working_morning(shop, fleet.began + timedelta(days=after))
        if start < fleet.now - timedelta(days=1):
            yield _day(fleet, batch, shop, start, group, "Planned check of the chain")


def _calls(fleet, batch, shop, stand, regular):
    """After each hard incident, unless somebody comes within the next days anyway."""
    taken = [day.start for day in regular if stand in day.stands]
    for incident in stand.incidents:
        start = fleet.working_morning(shop, incident.happened_at + timedelta(days=1.5))
        near = [other for other in taken if abs(other - start) < timedelta(days=4)]
        if incident.may_run or near or start > fleet.now - timedelta(days=1):
            continue
        taken.append(start)
        yield _day(fleet, batch, shop, start, [stand], f"Call: {incident}")


def _day(fleet, batch, shop, start, stands, purpose):
    visit = Visit(
        shop=shop,
        firm=batch.firm,
        contractor=batch.contractor,
        purpose=purpose[:200],
        state=Visit.State.ON_SITE,
        planned_for=start.date(),
        arrived_at=start,
        left_at=start + timedelta(minutes=MINUTES_A_MACHINE * len(stands) + 30),
        **fleet.entered(batch.contractor, start - timedelta(days=6)),
    )
    return Day(visit, start, stands)


def _ahead(fleet, batch, shop, stands):
    """A visit that is planned and not begun."""
    after = timedelta(days=fleet.rng.randrange(3, 60))
    start = fleet.working_morning(shop, fleet.now + after)
    visit = Visit(
        shop=shop,
        firm=batch.firm,
        contractor=batch.contractor,
        purpose="Planned check of the chain",
        planned_for=start.date(),
        **fleet.entered(batch.contractor, fleet.now - timedelta(days=2)),
    )
    return Day(visit, start, stands)


def _take_up(fleet, batch):
    """Which machine is looked at when at each visit, and what incident that answers."""
    rows = []
    for day in batch.days:
        for place, stand in enumerate(day.stands):
            at = day.start + timedelta(minutes=MINUTES_A_MACHINE * place)
            if day.visit.arrived_at:
                stay = Stay(day, stand, at)
                day.stays.append(stay)
                stand.stays.append(stay)
            else:
                rows.append(VisitedMachine(visit=day.visit, machine=stand.machine))
    steps, stops = [], []
    for stand in batch.stands:
        stand.stays.sort(key=lambda stay: stay.at)
        standing_until = fleet.began
        for incident in stand.incidents:
            stay = next((s for s in stand.stays if s.at > incident.happened_at), None)
            if stay is not None:
                stay.incident = incident
                incident.state = Incident.State.CLOSED
                steps.append(_closed(fleet, batch, incident, stay))
            if not incident.may_run and incident.happened_at > standing_until:
                stops.append(_stop(batch, stand, incident, stay))
                standing_until = stops[-1].ended_at or fleet.now + timedelta(days=1)
        rows += [
            VisitedMachine(
                visit=stay.visit,
                machine=stand.machine,
                incident=stay.incident,
                findings="Gone through the chain; see the sweeps.",
            )
            for stay in stand.stays
        ]
    Incident.objects.bulk_update(
        [i for stand in batch.stands for i in stand.incidents if i.state == "closed"],
        ["state"],
        batch_size=200,
    )
    fleet.add(rows)
    fleet.add(steps)
    fleet.add(stops)


def _closed(fleet, batch, incident, stay):
    return IncidentStep(
        incident=incident,
        state=Incident.State.CLOSED,
        found=f"{incident.place} swept, and set right where it had moved.",
        **fleet.entered(batch.contractor, stay.at + timedelta(minutes=MINUTES_A_MACHINE - 5)),
    )


def _stop(batch, stand, incident, stay):
    ended = stay and stay.at + timedelta(minutes=MINUTES_A_MACHINE - 1)
    return Standstill(
        machine=stand.machine,
        incident=incident,
        began_at=incident.happened_at,
        ended_at=ended,
        ended_by=batch.contractor if stay else None,
        reason="Looked at and measured." if stay else "",
    )
