"""What a crash moved by what was swept as found so far, and which sweep tells most next."""

from dataclasses import dataclass
from math import hypot

import numpy as np
from django.db.models import OuterRef, Subquery
from django.urls import reverse
from django.utils.http import urlencode

from alignment.geometry.drift.tolerance import offset_allowed_um
from alignment.geometry.frame import FRONT, REAR
from alignment.geometry.measure.quantity import TILTS
from alignment.geometry.moved.belief import Belief, Swept, believe
from alignment.geometry.moved.next_sweep import Offered, Worth, worth_of_sweeps
from alignment.geometry.moved.prior import KNOCK, MOST_MOVES, Prior, crash_prior
from alignment.sweeps.chain_view import chains_of
from alignment.sweeps.models import Check
from alignment.sweeps.station_position import position_of
from alignment.sweeps.thread import ROUND
from machines.incidents.models import Incident
from machines.register.models import Axis, Station
from shop.visits.models import Visit
from shop.web.request_memo import request_memo

from .crash_cases import Minutes, cases_of, minutes_of, places
from .positions import last_checks

ENOUGH_CRASHES = 5  # of a firm's own, before the plan proposes a sweep unasked
# What wear did since the last visit, and where a station stood that was never measured, as
# standard deviations in shares of what is allowed; common practice, no source.
WEAR_SHARE, UNSEEN_SHARE = 0.25, 0.5
USUAL_ALLOWED_UM = 10.0  # where no limit is on record
LEAST_UM = 0.5  # of a likely move that is told
USUAL_U_UM = 1.5  # of a sweep to come, where none was made before


@dataclass(frozen=True)
class StationBelief:
    """A station: the chance that it moved, before anything was swept and now, and the likely move
    if it did."""

    station: Station
    before: float
    chance: float
    front_um: float
    up_um: float

    @property
    def tells_where(self):
        """Whether sweeps say which way it moved: before any, every way is as likely."""
        return hypot(self.front_um, self.up_um) > LEAST_UM


@dataclass(frozen=True)
class NextSweep:
    """A sweep that could be made, `worth` of it and the address of its page; `from_own`: whether
    the minutes are the firm's own."""

    station: Station
    worth: Worth
    url: str
    from_own: bool


@dataclass(frozen=True)
class WhatMoved:
    """What is believed of a machine at a visit for a crash. `crashes`: how many of the firm's own
    it rests on beside the table. `sweeps`: those left, the one that tells most in front."""

    incident: Incident
    stations: tuple[StationBelief, ...]
    sweeps: tuple[NextSweep, ...]
    crashes: int

    @property
    def next(self):
        """The sweep to make; None when nothing left is likelier than 5 % to be out."""
        return next((one for one in self.sweeps if one.worth.is_wanted), None)

    @property
    def is_proposed(self):
        """Whether the firm has enough of a record for the plan to propose it unasked."""
        return self.crashes >= ENOUGH_CRASHES

    @property
    def ends(self):
        """The `StationBelief`s of the two ends of the next sweep, the station swept first."""
        sweep = self.next.worth.sweep
        return self.stations[sweep.station], self.stations[sweep.datum]


def what_moved(visit, machine):
    """The `WhatMoved` of a machine at a visit, asked for once a page; None where no crash called
    for it or its chain is too short or too long to say."""
    return request_memo(("what moved", visit.pk, machine.pk), lambda: _what_moved(visit, machine))


def _what_moved(visit, machine):
    visited = visit.visited.filter(machine=machine, incident__kind=Incident.Kind.HIT)
    here = visited.select_related("incident").first()
    chain = chains_of(visit).get(machine.pk, ())
    if here is None or not 1 < len(chain) <= MOST_MOVES:
        return None
    crashes, cases = cases_of(visit.firm, but=visit)
    prior = _prior(here.incident, chain, cases)
    known = _Known(visit, machine, chain)
    belief = believe(prior, known.sweeps())
    worths = worth_of_sweeps(belief, known.offered(minutes := minutes_of(visit.firm)))
    return WhatMoved(
        here.incident,
        tuple(_believed(belief, prior, chain)),
        tuple(_to_sweep(visit, chain, worth, minutes) for worth in worths),
        crashes,
    )


def _prior(incident, chain, cases) -> Prior:
    hit = set(incident.stations_hit.values_list("station", flat=True))
    of = places([(one.station.pk, one.station.datum_id) for one in chain], hit)
    place = {one.station.pk: index for index, one in enumerate(chain)}
    datums = [place.get(one.station.datum_id) for one in chain]
    return crash_prior(
        [of[one.station.pk] for one in chain],
        incident.severity or KNOCK,
        master=datums.index(None) if None in datums else None,
        datums=datums,
        push=_push(incident),
        cases=cases,
    )


def _push(incident):
    """The line (front, up) along which a crash pushed; None where its axis does not say."""
    axis = Axis.objects.filter(machine=incident.machine_id, name=incident.axis).first()
    if axis is None or axis.plus not in (FRONT, REAR, Axis.Plus.UP, Axis.Plus.DOWN):
        return None
    return (1.0, 0.0) if axis.plus in (FRONT, REAR) else (0.0, 1.0)


class _Known:
    """What is on record of a machine's links: as found at the visit, and before it."""

    def __init__(self, visit: Visit, machine, chain):
        self.chain = chain
        self.place = {one.station.pk: index for index, one in enumerate(chain)}
        self.found = _positions(last_checks(machine, visit))
        self.before = _positions(_checks_before(machine, visit))

    def sweeps(self):
        """A `Swept` of each link that was swept as found."""
        for state in self.chain:
            station, found = state.station, self.found.get(state.station.pk)
            if found is not None and station.datum_id in self.place:
                before, spread = self._stood(state)
                moved = (found.front_um - before[0], found.up_um - before[1])
                yield Swept(*self._ends(station), moved, found.covariance_um2 + spread)

    def offered(self, minutes: Minutes):
        """An `Offered` for each link that can still be swept as found."""
        return [
            Offered(
                item.pk,
                *self._ends(state.station),
                USUAL_U_UM**2 * np.eye(2) + self._stood(state)[1],
                minutes.of(state.station.kind),
                _allowed(item),
                self._stood(state)[0],
            )
            for state in self.chain
            if state.station.datum_id in self.place and state.station.pk not in self.found
            for item in _offset_lines(state, still_open=True)[:1]
        ]

    def _ends(self, station):
        return self.place[station.pk], self.place[station.datum_id]

    def _stood(self, state):
        """Where a station stood before the crash, (front, up), and how surely (2, 2)."""
        lines = _offset_lines(state)
        allowed = (lines and _allowed(lines[0])) or USUAL_ALLOWED_UM
        before = self.before.get(state.station.pk)
        if before is None:
            return (0.0, 0.0), np.eye(2) * (UNSEEN_SHARE * allowed) ** 2
        wear = np.eye(2) * (WEAR_SHARE * allowed) ** 2
        return (before.front_um, before.up_um), before.covariance_um2 + wear


def _positions(checks):
    """Station pk to its position, as far as that is known surely enough to weigh."""
    found = {pk: position_of(check) for pk, check in checks.items()}
    return {pk: one for pk, one in found.items() if np.isfinite(one.covariance_um2).all()}


def _checks_before(machine, visit):
    """Station pk to its newest check of an offset at an earlier visit."""
    earlier = Check.objects.of_offsets().not_superseded().exclude(visit=visit)
    newest = earlier.with_measured_at().filter(item__station=OuterRef("pk")).newest_first()
    wanted = machine.stations.annotate(last=Subquery(newest.values("pk")[:1])).values("last")
    checks = (
        Check.objects.filter(pk__in=wanted)
        .select_related("item__station__machine", "item__measured_from", "visit__shop")
        .prefetch_related("sweeps__readings")
    )
    return {check.item.station_id: check for check in checks}


def _offset_lines(state, *, still_open=False):
    """The lines that say where a station sits from its datum; still_open: not yet as found."""
    return [
        one.item
        for one in state.items
        if one.item.surface in ROUND
        and one.item.quantity not in TILTS
        and not one.item.closes_a_loop
        and not (still_open and (one.as_found or one.moved_here))
    ]


def _allowed(item):
    return offset_allowed_um(item.quantity, item.lower_um, item.upper_um)


def _believed(belief: Belief, prior: Prior, chain):
    for index, state in enumerate(chain):
        front, up = belief.likely_move_um(index)
        chances = float(prior.moved[index]), float(belief.chance[index])
        yield StationBelief(state.station, *chances, float(front), float(up))


def _to_sweep(visit, chain, worth, minutes):
    station = chain[worth.sweep.station].station
    address = reverse("alignment:sweep", args=[visit.pk, worth.sweep.key])
    phase = urlencode({"phase": Check.Phase.AS_FOUND})
    return NextSweep(station, worth, f"{address}?{phase}", minutes.is_own(station.kind))
