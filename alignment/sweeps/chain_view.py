"""A machine's datum chain at a visit or today: what was found and left, and what that is worth."""

from collections import defaultdict
from dataclasses import replace

from django.db.models import Max, OuterRef, Q, Subquery
from django.utils import timezone

from alignment.sheets.models import AcceptanceItem
from alignment.sheets.same_lines import AT_HAND, same_lines
from machines.register.models import Station
from machines.register.visited_machines import machines_at
from shop.web.request_memo import request_memo

from .by_sheet import verdicts_by_sheet
from .chain_states import ItemState, StationState
from .models import Check
from .states import adjusted_by, happenings_to


def chain_at(machine, visit=None):
    """The `StationState`s of one machine in checking order; see `chains_at`."""
    return chains_at([machine], visit)[machine.pk]


def chains_at(machines, visit=None):
    """Machine pk to its `StationState`s in checking order, as seen at `visit`.

    Six queries, however many machines, one for each visit that this one corrects, and three where
    the newest checks are of a former sheet. A signed
    visit is seen as it was signed, whatever happened since. Without a visit the chain is seen as
    it stands today.
    """
    until = visit.signed_at if visit and visit.signed_at else timezone.now()
    visits = with_corrected(visit)
    every = _stations(machines, until)
    signed_at = visits[-1].signed_at if visits else None
    stations = [one for one in every if _was_there(one, signed_at)]
    happened = happenings_to(every, machines, until)
    found = _items(machines, visits, until)
    # A line that was ended tells of itself where a signed visit is looked at.
    same = {one.pk: one for one in found if one.sheet.is_current}
    same |= same_lines(found, happened.line_of)
    items = [item for item in found if same.get(item.pk) is item]
    checks = _checks(found, same, visits, until)
    told_last = [(told[-1].pk, told[-1].item_id, same[pk]) for pk, told in checks.items()]
    # A signed visit keeps the verdicts that it was signed with.
    verdicts = {} if visit and visit.signed_at else verdicts_by_sheet(told_last)
    adjustments = _grouped(_adjustments(machines, visit), "station_id")
    moved = {happened.line_of[pk] for pk, made in adjustments.items() if made}
    items_of = _grouped(items, "station_id")
    chains = {machine.pk: [] for machine in machines}
    for station in stations:
        states = [
            _item_state(item, checks[item.pk], verdicts, visits, happened, moved)
            for item in items_of[station.pk]
        ]
        chains[station.machine_id].append(
            StationState(
                station=station,
                items=tuple(states),
                adjustments=tuple(adjustments[station.pk]),
                moved_here=_stations_of(happened.link_of(station), happened, moved),
            )
        )
    return chains


def _stations_of(link, happened, moved):
    """The ends of a link, as far as their lines are among those moved."""
    return tuple(happened.names[line] for line in link if line in moved)


def chains_of(visit):
    """Machine pk to its `StationState`s of the machines visited, asked for once a page."""
    return request_memo(("chains", visit.pk), lambda: chains_at(machines_at(visit), visit))


def not_settled(machine):
    """The `StationState`s of a machine today at which something was not measured, or does not
    count any more, or was left outside its limits."""
    return [state for state in chain_at(machine) if not state.is_settled or state.is_outside]


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


def _stations(machines, until):
    """Every line of the stations in checking order, with when each was last adjusted."""
    return list(
        Station.objects.filter(machine__in=machines)
        .select_related("datum", "followed_by", "machine__shop")
        .annotate(last_adjusted=Max("adjustments__made_at", filter=adjusted_by(until)))
        .order_by("machine_id", "position")  # grouping drops the usual order
    )


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
    """Items of every sheet that were measured or are in force, each with its newest check of
    another visit."""
    earlier = (
        Check.objects.not_superseded(at=until)
        .with_measured_at()
        .filter(item=OuterRef("pk"), made_at__lte=until)
        .exclude(visit__in=visits)
        .order_by("-measured_at", "-pk")
    )
    return list(
        AcceptanceItem.objects.filter(sheet__machine__in=machines)
        .select_related(*AT_HAND)
        .annotate(before_id=Subquery(earlier.values("pk")[:1]))
        .order_by("station__position", "position")
    )


def _checks(items, same, visits, until):
    """Pk of an item in force to the checks that tell of it, oldest first: those of these visits,
    and the earlier one of each line, on whatever sheet, that is the same."""
    of_items = {item.pk: item for item in items if item.pk in same}
    wanted = Q(pk__in=[item.before_id for item in of_items.values() if item.before_id])
    if visits:
        wanted |= Q(visit__in=visits, item__in=of_items)
    found = Check.objects.not_superseded(at=until).with_measured_at().filter(wanted)
    told = defaultdict(list)
    for check in found.select_related("visit__shop").order_by("measured_at", "pk"):
        check.item = of_items[check.item_id]
        told[same[check.item_id].pk].append(check)
    return told


def _adjustments(machines, visit):
    if visit is None:
        return []
    return visit.adjustments.filter(station__machine__in=machines).select_related("made_by")


def _item_state(item, checks, verdicts, visits, happened, moved):
    newest = checks[-1] if checks else None
    visited = {visit.pk for visit in visits}
    verdict = newest and verdicts.get(newest.pk, newest.verdict)
    here = [check for check in checks if check.visit_id in visited]
    last = {check.phase: check for check in here}
    link = happened.link_of(item.station, item)
    open_correction = len(visits) > 1 and not visits[0].is_signed
    return ItemState(
        item=item,
        as_found=last.get(Check.Phase.AS_FOUND),
        as_left=last.get(Check.Phase.AS_LEFT),
        before=next((one for one in reversed(checks) if one.visit_id not in visited), None),
        state=happened.shown(item, newest, verdict),
        at_visit=bool(visits),
        to_correct=tuple(
            check for check in here if open_correction and check.visit_id != visits[0].pk
        ),
        ends=_stations_of(link, happened, happened.names),
        moved_here=_stations_of(link, happened, moved),
    )


def next_phase(item, visit):
    """What the next sweep of an item at a visit most likely is: as found, until it has been
    measured so or something that bears on it was moved."""
    state = item_state(item, visit)
    late = state is not None and (state.as_found or state.moved_here)
    return Check.Phase.AS_LEFT if late else Check.Phase.AS_FOUND


def item_state(item, visit):
    """The `ItemState` of an item at a visit; None for one that is on no sheet in force."""
    chain = chain_at(item.station.machine, visit)
    return next((one for state in chain for one in state.items if one.item == item), None)


def lost_by_moving(chain, station):
    """The states of what must be measured again once a station is moved, each with those of its
    items: itself, and what is measured from it, by its chain or to close a loop. What hangs on
    those stands to its own datum as before."""
    lost = []
    for state in chain:
        items = tuple(one for one in state.items if station in one.ends)
        if items or station.pk in (state.station.pk, state.station.datum_id):
            lost.append(replace(state, items=items))
    return lost


def never_found(states):
    """The `ItemState`s whose as found is lost by moving something now: not measured so at the
    visit, and still to be had."""
    return [
        one for state in states for one in state.items if not one.moved_here and not one.as_found
    ]
