"""The records of drift: each line of the sheets in force, with what every visit found and left.

Eight queries, however many machines and visits there are; a few more while the newest checks are
of a sheet before the one in force.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple

from alignment.geometry.measure.quantity import OFFSET, TILT, TIR
from alignment.geometry.measure.verdict import dof_of
from alignment.sheets.models import AcceptanceItem, in_order
from alignment.sheets.same_lines import AT_HAND, same_lines
from alignment.sweeps.by_sheet import verdicts_by_sheet
from alignment.sweeps.models import Adjustment, Check, stored_sign
from alignment.sweeps.states import UNMEASURED, ShownState, happenings
from machines.incidents.models import Incident
from machines.register.models import Machine, MeterReading, first_said

from .clock import Clock, clock_of

# Figures that have a direction are followed as (front, up), others as they are. Of a run-out that
# is the offset its sweep gives, which it counts twice; out-of-round has no direction to drift in.
VECTORS = (OFFSET, TILT, TIR)
TWICE = 2.0


@dataclass(frozen=True)
class Measured:
    """A standing check as drift sees it: figures in µm, a tilt per the length of the sheet in
    force. ``vector_um`` is (front, up) of the station, or the figure alone; ``counts``: how many
    times the figure counts its length."""

    pk: int
    phase: str
    at: datetime
    vector_um: tuple[float, ...]
    value_um: float
    u_um: float | None
    coverage: float
    lower_um: float | None
    upper_um: float | None
    name: str
    counts: float = 1.0

    @property
    def vector_u_um(self):
        """Standard uncertainty of each part of the vector."""
        return None if self.u_um is None else self.u_um / self.counts

    @property
    def form_um(self):
        """What of a run-out no offset explains."""
        if self.counts != TWICE:
            return 0.0
        return max(self.value_um - TWICE * math.hypot(*self.vector_um), 0.0)

    @property
    def dof(self):
        """The degrees of freedom of ``u_um``, by the coverage factor they gave."""
        return math.inf if self.u_um is None else dof_of(self.coverage)

    @property
    def expanded_um(self):
        return None if self.u_um is None else self.coverage * self.u_um

    @property
    def limits(self):
        return self.lower_um, self.upper_um


@dataclass(frozen=True)
class SeriesVisit:
    """One visit of a series, numbered from 1.

    ``moved``: the station or its datum was moved at the visit. ``knocks``: the
    incidents since the visit before that may have shifted it.
    """

    number: int
    pk: int
    visit_number: str
    day: date
    found: Measured | None
    left: Measured | None
    moved: bool
    knocks: tuple[Incident, ...] = ()

    @property
    def is_one_measurement(self):
        """Nothing was moved and one phase is missing: the other stands for both."""
        return not self.moved and (self.found is None or self.left is None)

    @property
    def standing(self):
        """What says where the item stood when the visit was over; None where nothing does."""
        if self.left is not None or self.moved:
            return self.left
        return self.found


class Like(NamedTuple):
    """What the lines of different machines have in common that may borrow from each other;
    ``number`` tells apart the lines of one machine that have all else in common."""

    model: str
    kind: str
    quantity: str
    surface: str
    per_mm: Decimal
    number: int


@dataclass(frozen=True)
class Series:
    """A line of a sheet in force over its visits, oldest first; ``since``: the knocks after the
    last visit; ``state``: what its newest check,
    ``newest`` (its pk), is worth."""

    item: AcceptanceItem
    visits: tuple[SeriesVisit, ...]
    since: tuple[Incident, ...]
    clock: Clock
    like: Like
    state: ShownState
    newest: int | None

    @property
    def machine(self):
        return self.item.station.machine

    @property
    def parts(self):
        return 2 if self.item.quantity in VECTORS else 1

    @property
    def counts(self):
        """How many times the figure counts the length of the vector it is followed by."""
        return TWICE if self.item.quantity == TIR else 1.0

    @property
    def form_um(self):
        """What of a run-out no offset explained when it was last measured; taken to stay."""
        standing = self.last and self.last.standing
        return standing.form_um if standing else 0.0

    @property
    def last(self):
        return self.visits[-1] if self.visits else None


def load(pks, *, until, only=None):
    """The `Series` of machines (by pk), with what was on record at the moment ``until``.

    only: an item; lines that measure something else are left out.
    """
    machines = Machine.objects.select_related("shop").in_bulk(pks)
    items = list(
        AcceptanceItem.objects.filter(sheet__machine__in=machines, **_measuring(only))
        .select_related(*AT_HAND)
        .order_by("station__machine", "station__position", "position", "pk")
    )
    for item in items:
        item.station.machine = machines[item.station.machine_id]
    happened = happenings(machines, until)
    names = same_lines(items, happened.line_of)
    current = [item for item in items if item.is_in_force and item.has_limit]
    checks = _checks(machines, names, until, only)
    newest = {
        item.pk: max((row for _item, row in checks[item.pk]), key=_when)
        for item in current
        if checks[item.pk]
    }
    verdicts = verdicts_by_sheet(
        (row["pk"], row["item"], item) for item in current if (row := newest.get(item.pk))
    )
    moved = _moved(machines, happened.line_of, until)
    clocks = _clocks(machines, checks, until)
    ordinals = defaultdict(int)
    found = []
    for item in current:
        machine, link = item.station.machine, happened.link_of(item.station, item)
        alike = _alike(item)
        ordinals[machine.pk, alike] += 1
        own = [one for one in happened.knocks[machine.pk] if one.concerns(link)]
        visits, since = _visits(checks[item.pk], moved, link, own, machine.shop.zone)
        like = Like(*alike, ordinals[machine.pk, alike])
        row = newest.get(item.pk)
        state = _state(item, row, verdicts, happened)
        pk = row and row["pk"]
        found.append(Series(item, visits, since, clocks[machine.pk], like, state, pk))
    return found


def _measuring(item, prefix=""):
    """What finds the lines that measure what an item does; everything without one."""
    if item is None:
        return {}
    wanted = {"station__kind": item.station.kind, "quantity": item.quantity}
    return {
        f"{prefix}{name}": value for name, value in (wanted | {"surface": item.surface}).items()
    }


def _alike(item):
    """What a line of another machine has in common with this one to lend to it."""
    machine = item.station.machine
    # A machine without a model is like no other.
    model = machine.model_name or f"machine {machine.pk}"
    return model, item.station.kind, item.quantity, item.surface, item.per_mm


CHECK_FIELDS = (
    "pk", "item", "item__name", "phase", "measured_at", "first_visit", "first_number",
    "first_arrived", "right_um", "up_um", "value_um", "view", "u_um", "coverage", "lower_um",
    "upper_um", "per_mm", "verdict",
)  # fmt: skip


def _checks(machines, names, until, only):
    """Pk of an item in force to its checks as rows, in the order of the visits; one query."""
    rows = (
        Check.objects.not_superseded(at=until)
        .filter(
            item__station__machine__in=machines, made_at__lte=until, **_measuring(only, "item__")
        )
        .with_measured_at()
        .annotate(
            first_visit=first_said("visit"),
            first_number=first_said("visit__number"),
            first_arrived=first_said("visit__arrived_at"),
        )
        .values(*CHECK_FIELDS)
    )
    found = defaultdict(list)
    for row in rows:
        if row["item"] in names:
            found[names[row["item"]].pk].append((names[row["item"]], row))
    for own in found.values():
        own.sort(key=lambda pair: (_arrived(pair[1]), pair[1]["measured_at"], pair[1]["pk"]))
    return found


def _arrived(row):
    return row["first_arrived"] or row["measured_at"]


def _measured(item, row):
    """A row as a `Measured`, a tilt brought to the length the sheet in force states it for."""
    scale = float(item.per_mm / row["per_mm"]) if item.is_tilt else 1.0

    def scaled(name):
        return None if row[name] is None else scale * float(row[name])

    sign = stored_sign(row["view"], item)
    value = sign * scaled("value_um")
    lower_um, upper_um = in_order(sign, scaled("lower_um"), scaled("upper_um"))
    vector = item.quantity in VECTORS
    return Measured(
        pk=row["pk"],
        phase=row["phase"],
        at=row["measured_at"],
        vector_um=_turned(item, scaled("right_um"), scaled("up_um")) if vector else (value,),
        value_um=value,
        u_um=scaled("u_um"),
        coverage=row["coverage"],
        lower_um=lower_um,
        upper_um=upper_um,
        name=row["item__name"],
        counts=TWICE if item.quantity == TIR else 1.0,
    )


def _turned(item, right_um, up_um):
    sideways, up = item.signs
    return sideways * right_um + 0.0, up * up_um + 0.0


def _state(item, newest, verdicts, happened):
    """What the newest check of an item, a row or None, is worth."""
    if newest is None:
        return UNMEASURED
    verdict = verdicts.get(newest["pk"], newest["verdict"])
    return happened.shown_by(item, newest["measured_at"], verdict)


def _when(row):
    return row["measured_at"], row["pk"]


def _moved(machines, line_of, until):
    """(visit pk, line of a station) to when it was last moved there; one query."""
    made = Adjustment.objects.filter(station__machine__in=machines, made_at__lte=until)
    rows = made.order_by("made_at").values_list("visit", "station", "made_at")
    return {(visit, line_of[station]): at for visit, station, at in rows}


def _clocks(machines, checks, until):
    """Machine pk to its `Clock`; one query."""
    days = defaultdict(list)
    for own in checks.values():
        for item, row in own:
            machine = item.station.machine
            days[machine.pk].append(row["measured_at"].astimezone(machine.shop.zone).date())
    readings = defaultdict(list)
    for reading in (
        MeterReading.objects.counted()
        .filter(machine__in=machines, kind=MeterReading.Kind.SPINDLE_HOURS, read_at__lte=until)
        .oldest_first()
    ):
        readings[reading.machine_id].append(reading)
    return {
        pk: clock_of(readings[pk], days[pk], machine.shop.zone) for pk, machine in machines.items()
    }


def _visits(rows, moved, link, knocks, zone):
    """The `SeriesVisit`s of one item, and the knocks since the last of them."""
    groups = {}
    for item, row in rows:
        groups.setdefault(row["first_visit"], []).append((row, _measured(item, row)))
    visits, before = [], None
    for number, (pk, group) in enumerate(groups.items(), start=1):
        by_phase = {one.phase: one for _row, one in group}
        first = min(one.at for one in by_phase.values())
        left = by_phase.get(Check.Phase.AS_LEFT)
        moves = [moved[pk, line] for line in link if (pk, line) in moved]
        if left is not None and moves and left.at < max(moves):
            left = None  # stale: it was moved again afterwards
        visits.append(
            SeriesVisit(
                number=number,
                pk=pk,
                visit_number=group[0][0]["first_number"],
                day=first.astimezone(zone).date(),
                found=by_phase.get(Check.Phase.AS_FOUND),
                left=left,
                moved=bool(moves),
                knocks=_between(knocks, before, first) if before else (),
            )
        )
        before = max(one.at for one in by_phase.values())
    return tuple(visits), _between(knocks, before, None) if before else ()


def _between(knocks, after, until):
    return tuple(
        knock.record
        for knock in knocks
        if knock.at > after and (until is None or knock.at <= until)
    )
