"""What a firm's own record says of crashes: what had moved, and how long a sweep takes."""

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise
from math import hypot
from statistics import median

from alignment.geometry.moved.prior import BESIDE, ELSEWHERE, HIT, KNOCK, Case
from alignment.sweeps.models import Adjustment, Check
from machines.incidents.models import Incident, IncidentStation
from machines.register.models import Station, VisitedMachine

MOST_CRASHES = 2000  # the newest; older ones would change no figure that is shown
MOST_CHECKS = 2000
FEWEST_GAPS = 5
SHORTEST_MIN, LONGEST_MIN = 1.0, 60.0  # between two sweeps; longer is a break or other work
# Minutes to set up and sweep a station; common practice, no source.
MINUTES = {
    Station.Kind.HEADSTOCK: 10.0,
    Station.Kind.GUIDE_BUSHING: 15.0,
    Station.Kind.SUB_SPINDLE: 12.0,
}
OTHER_MINUTES = 12.0


@dataclass(frozen=True)
class Minutes:
    """How long a sweep takes at each kind of station that a firm has done often enough."""

    own: dict

    def of(self, kind):
        return self.own.get(kind, MINUTES.get(kind, OTHER_MINUTES))

    def is_own(self, kind):
        return kind in self.own


def places(stations, hit):
    """Where each station stood to a crash, by its pk: stations are (pk, pk of datum) pairs."""
    datum_of = dict(stations)
    beside = {datum_of[pk] for pk in hit if pk in datum_of}
    beside |= {pk for pk, datum in datum_of.items() if datum in hit}
    return {pk: HIT if pk in hit else BESIDE if pk in beside else ELSEWHERE for pk in datum_of}


def cases_of(firm, *, but):
    """(crashes, `Case`s) of the firm's signed visits for crashes, without one machine's visit.

    A station had moved when it was swept as found and then moved back at the visit; what was not
    swept tells nothing. but: the visit that is not asked. Five queries, whatever is on record.
    """
    visited = _crash_visits(firm, but)
    crashes = {incident for _, _, incident, _ in visited}
    hit = _gathered(
        IncidentStation.objects.filter(incident__in=crashes).values_list("incident", "station")
    )
    machines = {machine for _, machine, _, _ in visited}
    stations = _gathered(
        (machine, (pk, datum))
        for machine, pk, datum in Station.objects.filter(machine__in=machines).values_list(
            "machine", "pk", "datum"
        )
    )
    visits = {visit for visit, _, _, _ in visited}
    swept = sizes_found(visits)
    moved = set(Adjustment.objects.filter(visit__in=visits).values_list("visit", "station"))
    cases = [
        Case(place, hardness or KNOCK, (visit, pk) in moved, swept[visit, pk])
        for visit, machine, incident, hardness in visited
        for pk, place in places(stations[machine], set(hit[incident])).items()
        if (visit, pk) in swept
    ]
    return len(crashes), cases


def _crash_visits(firm, but):
    """(visit, machine, incident, hardness), the newest first."""
    crashes = VisitedMachine.objects.filter(
        visit__firm=firm, visit__state="signed", incident__kind=Incident.Kind.HIT
    ).exclude(visit=but)
    told = crashes.values_list("visit", "machine", "incident", "incident__severity")
    return list(told.order_by("-pk")[:MOST_CRASHES])


def sizes_found(visits):
    """(visit, station) to how far off it was as found."""
    found = Check.objects.of_offsets().not_superseded()
    rows = found.filter(visit__in=visits, phase=Check.Phase.AS_FOUND).order_by("pk")
    told = rows.values_list("visit", "item__station", "right_um", "up_um")
    return {(visit, station): hypot(right, up) for visit, station, right, up in told}


def _gathered(pairs):
    groups = defaultdict(list)
    for key, value in pairs:
        groups[key].append(value)
    return groups


def minutes_of(firm):
    """The `Minutes` from the firm's own visits: the middle of the times from one sweep saved to
    the next at the same visit. One query."""
    rows = Check.objects.filter(visit__firm=firm).order_by("-made_at", "-pk")
    told = list(rows.values_list("visit", "made_at", "item__station__kind")[:MOST_CHECKS])
    gaps = defaultdict(list)
    for (visit, made_at, kind), (before, earlier, _) in pairwise(told):
        gap = (made_at - earlier).total_seconds() / 60
        if visit == before and SHORTEST_MIN <= gap <= LONGEST_MIN:
            gaps[kind].append(gap)
    return Minutes({kind: median(of) for kind, of in gaps.items() if len(of) >= FEWEST_GAPS})
