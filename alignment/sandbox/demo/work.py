"""What is done at one machine during one of the demo's visits."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import cached_property

from alignment.adjusting.services import record_adjustment
from alignment.geometry.measure.quantity import TIR
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Check, Indicator
from alignment.sweeps.services import save_check
from machines.drive.inspecting import inspect_belt
from machines.drive.models import Recommendation
from machines.drive.services import fit_advised
from machines.incidents.follow_up import tick_line
from machines.incidents.models import CheckLine
from machines.register.models import Station
from machines.sandbox.demo import meter_shows
from machines.visit_work.services import read_meter

from .sweeping import DIALS, typed_sweep
from .truth import Truth
from .visits import DemoVisit

Kind = Station.Kind
Phase = Check.Phase

# The guide bushing housing's bore, near to the headstock and far; invented.
PLANES_MM = (Decimal(0), Decimal(70))
MINUTES = {"set up": 20, "sweep": 9, "move": 35, "belt": 12, "fit a belt": 40, "a part": 3}
FOUND_AT_PARTS = {
    "guide bushing housing bolts": "two of them had crept, torqued anew",
    "sub-spindle collet and drawtube": "collet chipped and replaced, drawtube straight",
}
HOW_IT_WAS_MOVED = {
    Kind.GUIDE_BUSHING: "Housing bolts eased, brought over with the jack screws, bolts torqued",
    Kind.SUB_SPINDLE: "Sub-spindle bolts eased, tapped over with a brass drift, bolts torqued",
    Kind.BACK_TOOLS: "Back tool block eased and set to the sub-spindle",
    Kind.GANG_TOOLS: "Holder plate eased and set over",
    Kind.TURRET: "Turret eased on its bed bolts and set over",
}


class Clock:
    """The time of day at a visit, which goes on with every piece of work."""

    def __init__(self, start):
        self.now = start

    def after(self, minutes):
        self.now += timedelta(minutes=minutes)
        return self.now


@dataclass
class Work:
    """A machine being worked on at a visit."""

    planned: DemoVisit
    visit: object
    machine: object
    truth: Truth
    clock: Clock
    contractor: object

    @property
    def unit(self):
        return self.visit.shop.length_unit

    @cached_property
    def indicator(self):
        return Indicator.objects.get(firm=self.visit.firm_id, unit=self.unit)

    def done(self, what):
        """Who did a piece of work and when it was finished, for the services."""
        return {"made_by": self.contractor, "made_at": self.clock.after(MINUTES[what])}


def work_on(work):
    """Read the meter, sweep everything as found, set right what is out, look at the belts."""
    _read_meter(work)
    items = list(
        AcceptanceItem.objects.filter(sheet__machine=work.machine, sheet__is_current=True)
        .select_related("station__machine", "sheet")
        .order_by("position")
    )
    checks = {item.pk: _sweep(work, item, Phase.AS_FOUND) for item in items}
    _set_right(work, items, checks)
    for belt, teeth in _belts_looked_at(work):
        # A belt that is replaced because of what is found comes off after it was looked at; one
        # that was ordered before is on by then, and it is the new one that is looked at.
        for step in (_inspect, _fit) if teeth else (_fit, _inspect):
            step(work, belt, teeth)


def look_at_parts(visited, contractor, clock):
    """Go through the parts on the check list that the incident brought, if one did."""
    for line in visited.check_lines.filter(what=CheckLine.What.PART):
        found = FOUND_AT_PARTS.get(line.subject, "sound")
        tick_line(line, by=contractor, found=found, at=clock.after(MINUTES["a part"]))


def _read_meter(work):
    read_at = work.clock.after(MINUTES["set up"])
    read_meter(
        machine=work.machine,
        visit=work.visit,
        value=meter_shows(work.machine, read_at.date()),
        read_at=read_at,
        made_by=work.contractor,
    )


def _sweep(work, item, phase):
    """A sweep of one item, of eight points after a crash, else of four; near and far where it is
    a tilt that is asked for."""
    return save_check(
        visit=work.visit,
        item=item,
        phase=phase,
        sweeps=[_swept_at(work, item, z_mm) for z_mm in (PLANES_MM if item.is_tilt else (None,))],
        **work.done("sweep"),
    )


def _swept_at(work, item, z_mm):
    """The sweep at a plane; the offset is that of the middle between the planes."""
    kind = item.station.kind
    signs = item.view.signs
    offset_um = signs[:2] * work.truth.offset(kind)
    if z_mm is not None:
        middle = sum(PLANES_MM) / len(PLANES_MM)
        offset_um = offset_um + signs[2:] * work.truth.tilt[kind] * float(z_mm - middle) / 100
    points = 8 if work.planned.after_crash or item.quantity == TIR else 4
    return typed_sweep(offset_um, item.surface, work.indicator, work.truth.rng, points, z_mm)


def _set_right(work, items, checks):
    """Down the chain: sweep again what a move upstream made stale, move what is not within."""
    moved = set()
    for station in work.machine.stations.all():
        own = [item for item in items if item.station_id == station.pk]
        if station.datum_id in moved:
            moved.add(station.pk)
            checks.update(_as_left(work, own))
        # The first station is the master datum and is never moved.
        if station.datum_id and any(
            checks[item.pk].verdict != Check.Verdict.WITHIN for item in own
        ):
            moved.add(station.pk)
            _move(work, station, own)
            checks.update(_as_left(work, own))


def _as_left(work, items):
    return {item.pk: _sweep(work, item, Phase.AS_LEFT) for item in items}


def _move(work, station, items):
    """Bring a station back to about where its factory left it, and write down the move."""
    leave_um = min(abs(float(item.factory_um)) for item in items if not item.is_tilt)
    front_um, up_um = work.truth.adjust(station.kind, leave_um)
    record_adjustment(
        visit=work.visit,
        station=station,
        what=HOW_IT_WAS_MOVED[station.kind],
        front_um=_in_steps(front_um, work.unit),
        up_um=_in_steps(up_um, work.unit),
        **work.done("move"),
    )


def _in_steps(length_um, unit):
    """The length as the dial shows it, in whole steps."""
    step_um = DIALS[unit].step_um
    return round(float(length_um) / float(step_um)) * step_um


def _belts_looked_at(work):
    """(belt, teeth) of the belts that the plan names, else of the one whose turn it is."""
    belts = list(work.machine.belts.all())
    named = [
        (belt, work.planned.teeth[work.machine.number, belt.name])
        for belt in belts
        if (work.machine.number, belt.name) in work.planned.teeth
    ]
    return named or [(belts[work.planned.days_ago % len(belts)], {})]


def _inspect(work, belt, teeth):
    inspect_belt(belt=belt, visit=work.visit, teeth=teeth, **work.done("belt"))


def _fit(work, belt, teeth):
    if (work.machine.number, belt.name) in work.planned.fitted:
        advice = open_advice(work.machine, belt.name)
        fit_advised(
            advice,
            visit=work.visit,
            serial=f"lot {work.visit.number}",
            note="new belt from the van",
            **work.done("fit a belt"),
        )


def open_advice(machine, subject):
    """The one open recommendation about a belt of a machine."""
    return Recommendation.objects.open().get(machine=machine, subject=subject)
