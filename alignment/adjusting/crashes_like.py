"""What had moved at crashes like one: the same kind of station hit, as hard, at visits one sees."""

from collections import defaultdict
from dataclasses import dataclass

from alignment.sweeps.models import Adjustment
from machines.incidents.models import Incident, IncidentStation
from machines.register.models import Station, VisitedMachine
from shop.visits.models import Visit

from .crash_cases import MOST_CRASHES, sizes_found

MOST_LINKS = 5


@dataclass(frozen=True)
class KindMoved:
    """How often a kind of station had moved, of how many times it was swept as found; and from
    how little to how much."""

    name: str
    moved: int
    swept: int
    least_um: float
    most_um: float


@dataclass(frozen=True)
class CrashesLike:
    """`count`: how many; `kinds`: what had moved, the most often first; `newest`: the last few
    visits, each of which the person may open."""

    count: int
    kinds: tuple[KindMoved, ...]
    newest: tuple[Visit, ...]


def crashes_like(incident, user, *, but):
    """The `CrashesLike` an incident at signed visits that a person sees; None where none is.

    Only what the person may open is counted, so no count tells of another shop. but: the visit
    that is not asked. Six queries, whatever is on record.
    """
    hit = IncidentStation.objects.filter(incident=incident).values("station__kind")
    alike = Incident.objects.filter(
        kind=Incident.Kind.HIT,
        severity=incident.severity,
        stations_hit__station__kind__in=hit,
    )
    visits = Visit.objects.visible_to(user).filter(state=Visit.State.SIGNED).exclude(pk=but.pk)
    seen = VisitedMachine.objects.filter(incident__in=alike, visit__in=visits)
    told = seen.order_by("-pk").values_list("visit", "machine", "incident").distinct()
    if not (visited := list(told[:MOST_CRASHES])):
        return None
    visits = list(dict.fromkeys(visit for visit, _, _ in visited))
    newest = Visit.objects.select_related("shop").in_bulk(visits[:MOST_LINKS])
    return CrashesLike(
        len({incident for _, _, incident in visited}),
        tuple(_kinds({(visit, machine) for visit, machine, _ in visited})),
        tuple(newest[pk] for pk in visits[:MOST_LINKS]),
    )


def _kinds(visited):
    """A `KindMoved` for each kind of station that had moved at some (visit, machine) of these."""
    visits = {visit for visit, _ in visited}
    sizes = sizes_found(visits)
    moved = set(Adjustment.objects.filter(visit__in=visits).values_list("visit", "station"))
    stations = Station.objects.filter(pk__in={pk for _, pk in sizes})
    of = {
        pk: (machine, kind) for pk, machine, kind in stations.values_list("pk", "machine", "kind")
    }
    swept, off = defaultdict(int), defaultdict(list)
    for (visit, pk), size in sizes.items():
        machine, kind = of[pk]
        if (visit, machine) in visited:
            swept[kind] += 1
            if (visit, pk) in moved:
                off[kind].append(size)
    for kind in sorted(off, key=lambda one: -len(off[one])):
        name = Station.Kind(kind).label
        yield KindMoved(name, len(off[kind]), swept[kind], min(off[kind]), max(off[kind]))
