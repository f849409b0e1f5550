"""A machine's datum chain as it stands at a visit: what was found, what was left, what is stale."""

from collections import defaultdict

from django.db.models import Max, OuterRef, Q, Subquery
from django.utils import timezone

from alignment.geometry.chain import measured_from, stale_stations, station_path
from machines.visited import machines_at
from shop.once import once

from .chainstates import ItemState, StationState
from .models import AcceptanceItem, Check, Station


def chain_at(machine, visit=None):
    """The `StationState`s of one machine in checking order; see `chains_at`."""
    return chains_at([machine], visit)[machine.pk]


def chains_at(machines, visit=None):
    """Machine pk to its `StationState`s in checking order, as seen at `visit`.

    Four queries, however many machines, and one for each visit that this one corrects. A signed
    visit is seen as it was signed, whatever happened since. Without a visit the chain is seen as
    it stands today.
    """
    until = visit.signed_at if visit and visit.signed_at else timezone.now()
    visits = with_corrected(visit)
    stations = _stations(machines, until, visits[-1].signed_at if visits else None)
    items = _items(machines, visits, until)
    checks = _grouped(_checks(items, visits, until), "item_id")
    adjustments = _grouped(_adjustments(machines, visit), "station_id")
    datums = _datums_of(stations)
    stale = _stale_items(datums, stations, items, _last_measured(checks, until))
    items_of = _grouped(items, "station_id")
    by_pk = {station.pk: station for station in stations}
    chains = {machine.pk: [] for machine in machines}
    for station in stations:
        states = [
            _item_state(item, checks[item.pk], visits, bool(stale[item.pk]))
            for item in items_of[station.pk]
        ]
        because = dict.fromkeys(pk for state in states for pk in stale[state.item.pk])
        path = station_path(datums[station.machine_id], station.pk)
        chains[station.machine_id].append(
            StationState(
                station=station,
                items=tuple(states),
                stale_because=tuple(by_pk[pk] for pk in because),
                adjustments=tuple(adjustments[station.pk]),
                moved_here=tuple(by_pk[pk] for pk in path if adjustments[pk]),
            )
        )
    return chains


def chains_of(visit):
    """Machine pk to its `StationState`s of the machines visited, asked for once a page."""
    return once(("chains", visit.pk), lambda: chains_at(machines_at(visit), visit))


def with_corrected(visit):
    """A visit, the visit it corrects, and so on back; empty for no visit."""
    visits = []
    while visit is not None:
        visits.append(visit)
        visit = visit.corrects
    return visits


def _grouped(records, key):
    groups = defaultdict(list)
    for record in records:
        groups[getattr(record, key)].append(record)
    return groups


def _stations(machines, until, signed_at):
    """The stations in checking order, with when each was last adjusted: those that are there, or
    were when what is looked at was first signed."""
    by_then = Q(adjustments__made_at__lte=until)
    found = (
        Station.objects.filter(machine__in=machines)
        .select_related("datum__follows", "followed_by", "machine__shop")
        .annotate(last_adjusted=Max("adjustments__made_at", filter=by_then))
        .order_by("machine_id", "position")  # grouping drops the usual order
    )
    return [one for one in found if _was_there(one, signed_at)]


def _was_there(station, at):
    """Whether a line of a station is there, or at a moment had begun and was not ended; what was
    taken off a machine was there to the end of that day in the shop."""
    if at is None or station.ended_on is None:
        return station.ended_on is None and (at is None or not _later(station, at))
    if follower := getattr(station, "followed_by", None):
        return _later(follower, at) and not _later(station, at)
    return station.ended_on >= at.astimezone(station.machine.shop.zone).date()


def _later(station, at):
    return station.begun_at is not None and station.begun_at > at


def _items(machines, visits, until):
    """Items of the sheets in force, each with its newest check of another visit."""
    earlier = (
        Check.objects.standing(at=until)
        .with_measured_at()
        .filter(item=OuterRef("pk"), made_at__lte=until)
        .exclude(visit__in=visits)
        .order_by("-measured_at", "-pk")
    )
    return list(
        AcceptanceItem.objects.filter(sheet__machine__in=machines, sheet__is_current=True)
        .select_related("station")
        .annotate(before_id=Subquery(earlier.values("pk")[:1]))
    )


def _checks(items, visits, until):
    """The checks of these visits and each item's earlier one, oldest first."""
    of_items = {item.pk: item for item in items}
    wanted = Q(pk__in=[item.before_id for item in items if item.before_id])
    if visits:
        wanted |= Q(visit__in=visits, item__in=of_items)
    found = Check.objects.standing(at=until).with_measured_at().filter(wanted)
    checks = list(found.select_related("visit__shop").order_by("measured_at", "pk"))
    for check in checks:
        check.item = of_items[check.item_id]
    return checks


def _adjustments(machines, visit):
    if visit is None:
        return []
    return visit.adjustments.filter(station__machine__in=machines).select_related("made_by")


def _item_state(item, checks, visits, stale):
    here = [check for check in checks if check.visit_id in {visit.pk for visit in visits}]
    last = {check.phase: check for check in here}
    open_correction = len(visits) > 1 and not visits[0].is_signed
    return ItemState(
        item=item,
        as_found=last.get(Check.Phase.AS_FOUND),
        as_left=last.get(Check.Phase.AS_LEFT),
        before=next((check for check in checks if check.pk == item.before_id), None),
        stale=stale,
        at_visit=bool(visits),
        to_correct=tuple(
            check for check in here if open_correction and check.visit_id != visits[0].pk
        ),
    )


def _datums_of(stations):
    """Machine pk to its chain: station pk to the pk of its datum."""
    datums = defaultdict(dict)
    pks = {station.pk for station in stations}
    for station in stations:
        datum = station.datum
        while datum is not None and datum.pk not in pks:
            datum = datum.follows  # a line that was begun later took the datum's place
        datums[station.machine_id][station.pk] = datum and datum.pk
    return datums


def _last_measured(checks, until):
    """Item pk to when it was last measured by then, of its checks, oldest first."""
    return {
        item: check.measured_at
        for item, of_item in checks.items()
        for check in of_item
        if check.made_at <= until
    }


def _stale_items(datums, stations, items, last_measured):
    """Item pk to the pks of the adjusted stations that make it stale.

    A station counts as measured when the item measured longest ago was: one item measured anew
    does not vouch for the others.
    """
    adjusted = {station.pk: station.last_adjusted for station in stations}
    stale = {}
    for item in items:
        measured = {item.station_id: last_measured.get(item.pk)}
        waiting = stale_stations(datums[item.station.machine_id], measured, adjusted)
        stale[item.pk] = waiting.get(item.station_id, ())
    return stale


def next_phase(item, visit):
    """What the next sweep of an item at a visit most likely is: as found, until it has been
    measured so or something that bears on it was moved."""
    chain = chain_at(item.station.machine, visit)
    state = next(state for state in chain if state.station.pk == item.station_id)
    measured = any(one.as_found for one in state.items if one.item == item)
    return Check.Phase.AS_LEFT if measured or state.moved_here else Check.Phase.AS_FOUND


def moved_with(chain, station_pk):
    """The states of what turns stale when a station is moved: itself, and what is measured from
    it directly or through others."""
    datums = {state.station.pk: state.station.datum_id for state in chain}
    by_pk = {state.station.pk: state for state in chain}
    return [by_pk[pk] for pk in (station_pk, *measured_from(datums, station_pk))]
