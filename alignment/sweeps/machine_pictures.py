"""The pictures of machines as they stand today or at a visit, gathered for many at once."""

from collections import defaultdict

from django.db.models import Q
from django.utils import timezone

from alignment.figures.machine import BeltMark, MachineFigure, StationMark
from alignment.figures.state_marks import MASTER
from machines.drive.belt_looks import bad_teeth, last_looks
from machines.drive.models import Belt
from machines.incidents.models import Incident
from machines.register.models import Station, StationMover

from .chain_view import chains_at
from .end_views import end_view, told
from .states import AGAIN, KNOCKS


def machine_figure(machine, unit, visit=None):
    """The `MachineFigure` of one machine; see `machine_figures`."""
    return machine_figures([machine], unit, visit)[machine.pk]


def machine_figures(machines, unit, visit=None, chains=None):
    """Machine pk to its `MachineFigure` today, or as seen at a visit, lengths in ``unit``.

    A fixed number of queries however many machines; the machines come with their shop. chains:
    what `chains_at` gives for them, where it is at hand.
    """
    machines = list(machines)
    chains = chains_at(machines, visit) if chains is None else chains
    hits, belts, axes = _hits(machines, visit), _belts(machines, visit), _axes(machines)
    return {
        machine.pk: MachineFigure(
            name=str(machine),
            headstock_side=machine.headstock_side,
            stations=tuple(_stations(machine, chains[machine.pk], hits, axes, unit)),
            belts=tuple(belts[machine.pk]),
        )
        for machine in machines
    }


def _stations(machine, chain, hits, axes, unit):
    zone = machine.shop.zone
    moved = {station.pk for state in chain for one in state.items for station in one.state.moved}
    for number, state in enumerate(chain, start=1):
        station, shown = state.station, state.shown
        for one in state.items:
            one.item.station.machine = machine
        yield StationMark(
            key=station.pk,
            number=number,
            name=station.name,
            kind=station.kind,
            state=shown.word if shown else MASTER,
            words=shown.words if shown else "master datum",
            short=_short(shown),
            told=told(state, unit),
            view=end_view(state),
            counts=shown is None or shown.counts,
            hit=_day(hits.get(station.pk), zone),
            moved=_day(_moved_at(state, moved), zone),
            axes=" ".join(axes[station.pk]),
        )


def _short(shown):
    """A state in the words that fit below an end view; the day of a crash stands where it hit."""
    if shown is None:
        return "master datum"
    return f"{shown.word}{'' if shown.counts or not shown.was_measured else AGAIN}"


def _moved_at(state, moved):
    """When a station was moved at the visit, or last moved without being measured again."""
    if state.adjustments:
        return state.adjustments[-1].made_at
    return state.station.last_adjusted if state.station.pk in moved else None


def _day(moment, zone):
    """A short day: "27 Nov", or "Nov 2025" of another year; "" for none."""
    if moment is None:
        return ""
    day, today = moment.astimezone(zone), timezone.localtime(timezone=zone)
    return f"{day.day} {day:%b}" if day.year == today.year else f"{day:%b %Y}"


def _hits(machines, visit):
    """Station pk to when the newest crash hit it that is not closed, or that called for the visit;
    a hit on a line that was ended is one on the line that follows. Three queries."""
    wanted = ~Q(state=Incident.State.CLOSED)
    if visit is not None:
        wanted = Q(pk__in=visit.visited.values("incident"))
    found = Incident.objects.filter(wanted, machine__in=machines, kind__in=KNOCKS)
    lines = Station.objects.filter(machine__in=machines, follows__isnull=False)
    after = dict(lines.values_list("follows", "pk"))
    hits = {}
    for incident in found.prefetch_related("stations_hit").order_by("happened_at", "pk"):
        for hit in incident.stations_hit.all():
            pk = hit.station_id
            while pk in after:
                pk = after[pk]
            hits[pk] = incident.happened_at
    return hits


def _axes(machines):
    """Station pk to the names of the axes that move it; one query."""
    found = defaultdict(list)
    movers = StationMover.objects.filter(station__machine__in=machines)
    for pk, name in movers.order_by("axis__name").values_list("station", "axis__name"):
        found[pk].append(name)
    return found


def _belts(machines, visit):
    """Machine pk to its `BeltMark`s by the last look at each, at a visit by the look there and what
    was fitted after it."""
    belts = Belt.objects.filter(machine__in=machines).order_by("machine", "place_in_path", "pk")
    there = {} if visit is None else {"visit": visit}
    new = {} if visit is None else dict(visit.fittings.values_list("belt", "fitted_at"))
    found = defaultdict(list)
    for look in last_looks(belts, present_only=visit is None, **there):
        fitted, seen = new.get(look.belt.pk), look.inspection
        is_new = fitted is not None and (seen is None or seen.made_at <= fitted)
        bad = None if is_new else bad_teeth(look)
        found[look.belt.machine_id].append(BeltMark(look.belt.name, look.belt.drives, bad, is_new))
    return found
