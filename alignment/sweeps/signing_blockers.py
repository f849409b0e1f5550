"""What the alignment of a visit still lacks before it can be signed."""

from django.urls import reverse

from machines.incidents.models import IncidentStation
from machines.register.visited_machines import machines_at
from shop.hooks import SigningBlocker

from .chain_view import chains_of
from .models import Check


def stations_not_settled(visit):
    """What was moved and not measured again, what is left outside, what was hit and not swept.

    At a correction only what it says anew and is left outside counts: the rest was settled, or
    explained, at the visit it corrects.
    """
    hit = set() if visit.corrects_id else _stations_hit(visit)
    chains = chains_of(visit)
    return [
        lack
        for machine in machines_at(visit)
        for state in chains[machine.pk]
        for lack in _of_station(visit, machine, state, hit)
    ]


def _stations_hit(visit):
    """Pks of the stations hit in the incidents that called for this visit."""
    incidents = visit.visited.filter(incident__isnull=False).values("incident")
    return set(
        IncidentStation.objects.filter(incident__in=incidents).values_list("station", flat=True)
    )


def _of_station(visit, machine, state, hit):
    for one in state.items:
        if words := _unsettled(visit, state, one, hit):
            address = reverse("alignment:sweep", args=[visit.pk, one.item.pk])
            yield SigningBlocker(f"{machine.number}, {one.item}: {words}", address)


def _unsettled(visit, state, one, hit):
    """What is not settled of one item, in words; "" when nothing is."""
    if one.final and one.final.verdict == Check.Verdict.OUTSIDE:
        return "left outside its limits" if one.final.visit_id == visit.pk else ""
    if visit.corrects_id or one.final:
        return ""
    if one.moved_here:
        return f"not measured since {_named(one.moved_here)} moved"
    return "the station was hit, and this is not measured" if state.station.pk in hit else ""


def _named(stations):
    names = " and ".join(f"the {station}" for station in stations)
    return f"{names} {'was' if len(stations) == 1 else 'were'}"
