"""Where every station of a machine stands from the headstock's axis, and what explains bad ones."""

import math
from dataclasses import dataclass, replace

import numpy as np
from django.db.models import OuterRef, Subquery
from django.utils import timezone

from alignment.geometry.adjust.culprit import Culprit, Deviation, explain_bad_chain
from alignment.geometry.adjust.positions import Closure, Link, place_stations
from alignment.geometry.drift.tolerance import offset_allowed_um
from alignment.geometry.measure.axis import Axis
from alignment.sheets.models import AcceptanceItem
from alignment.sheets.same_lines import AT_HAND, same_lines
from alignment.sweeps.by_sheet import verdicts_by_sheet
from alignment.sweeps.models import Check
from alignment.sweeps.states import UNMEASURED, ShownState, happenings
from alignment.sweeps.station_position import position_of


@dataclass(frozen=True)
class Placed:
    """A station in the headstock's frame: its axis, None where it cannot be placed, and why.

    state: what the check of its own link is worth, None for the master datum. weak: the `Placed`
    of each link on its way, its own last, whose check no longer counts.
    """

    station: object
    check: Check | None
    axis: Axis | None
    direction_measured: bool = False
    why_not: str = ""
    state: ShownState | None = None
    weak: tuple = ()

    @property
    def front_um(self):
        return float(self.axis.parameters[0])

    @property
    def up_um(self):
        return float(self.axis.parameters[1])

    @property
    def slopes(self):
        """(front, up) in µm per 100 mm, None where a tilt on the way was never measured."""
        return tuple(map(float, self.axis.parameters[2:])) if self.direction_measured else None

    @property
    def u_um(self):
        """Standard uncertainty of the larger direction; None where it is not known."""
        u = math.sqrt(float(np.diag(self.axis.covariance)[:2].max()))
        return u if math.isfinite(u) else None


@dataclass(frozen=True)
class PlacedChain:
    """All stations of a machine in checking order, and the best explanations of bad readings.

    The explanations go by the checks that count; `unknown` are the stations that have none.
    closures: each check that closes a loop, held against the sum of the links. unclosed: those
    that cannot be, each with the `Placed` of the links between its ends that no longer count.
    """

    stations: tuple[Placed, ...]
    culprits: tuple[Culprit, ...]
    closures: tuple[tuple[Check, Closure], ...] = ()
    unclosed: tuple[tuple[Check, tuple[Placed, ...]], ...] = ()

    @property
    def unknown(self):
        """What was not measured, or not since it was moved or hit."""
        return tuple(one for one in self.stations if one.state and not one.state.counts)


def last_checks(machine, visit=None, *, tilts=False):
    """Station pk to its newest standing check of an offset, or of a tilt, with its readings.

    With a visit those as found there: what a crash did shows before anything was moved. Three
    queries.
    """
    checks = Check.objects.of_tilts() if tilts else Check.objects.of_offsets()
    standing = checks.counting_for(visit).with_measured_at()
    if visit is not None:
        standing = standing.filter(visit=visit, phase=Check.Phase.AS_FOUND)
    newest = standing.filter(item__station=OuterRef("pk")).newest_first()
    there = machine.stations.current()
    wanted = there.annotate(last=Subquery(newest.values("pk")[:1])).values("last")
    found = (
        Check.objects.filter(pk__in=wanted)
        .with_measured_at()
        .select_related("item__station__machine", "item__measured_from", "visit__shop")
        .prefetch_related("sweeps__readings")
    )
    return {check.item.station_id: check for check in found}


def placed_chain(machine, visit=None):
    """The `PlacedChain` of a machine from its newest checks, or as found at a visit."""
    there = machine.stations.current() if visit is None else machine.stations
    stations = list(there.select_related("datum"))
    checks, happened = last_checks(machine, visit), _happened(machine, visit)
    # A lean that no longer counts is one that was not measured.
    tilts = {
        pk: tilt
        for pk, tilt in last_checks(machine, visit, tilts=True).items()
        if happened.shown(tilt.item, tilt).counts
    }
    names = {station.pk: station.name for station in stations}
    first = next((station for station in stations if station.datum_id is None), None)
    if first is None:
        return PlacedChain((), ())
    for checked in (checks, tilts):
        for check in checked.values():
            check.item.station.machine = machine
    links = _links(stations, checks, tilts, first.pk)
    items = AcceptanceItem.objects.filter(sheet__machine=machine).select_related(*AT_HAND)
    same = same_lines(items, happened.line_of)
    reached = {first.name, *(link.station for link in links)}
    verdicts = verdicts_by_sheet(
        (check.pk, check.item_id, same[check.item_id])
        for check in checks.values()
        if check.item_id in same
    )
    states = {
        one.name: _state(checks.get(one.pk), verdicts, happened) for one in stations if one.datum_id
    }
    datum_of = {s.name: names.get(s.datum_id) for s in stations}
    loops, waiting = [], []
    for check in _loops(machine, visit, reached, same, happened):
        between = _between(*_ends(check.item, happened), datum_of)
        weak = [name for name in between if not states[name].counts]
        if weak:
            waiting.append((check, weak))
        else:
            loops.append(check)
    placement = place_stations(links, first.name, [_loop(check, happened) for check in loops])
    placed = _with_weak_links(
        [_placed(station, checks, placement, first, names, states) for station in stations]
    )
    culprits = explain_bad_chain(
        datum_of,
        {
            link.station: _deviation(link, checks, same, stations)
            for link in links
            if states[link.station].counts
        },
    )
    by_name = {one.station.name: one for one in placed}
    return PlacedChain(
        tuple(placed),
        culprits,
        closures=tuple(zip(loops, placement.closures, strict=True)),
        unclosed=tuple((check, tuple(map(by_name.get, weak))) for check, weak in waiting),
    )


def _between(datum, station, datum_of):
    """The stations whose links lead from one station to another, the first of all left out."""

    def way(name):
        while datum_of[name] is not None:
            yield name
            name = datum_of[name]

    ends = [list(way(datum)), list(way(station))]
    return [name for name in (*ends[0], *ends[1]) if (name in ends[0]) != (name in ends[1])]


def _state(check, verdicts, happened):
    verdict = check and verdicts.get(check.pk, "")
    return happened.shown(check.item, check, verdict) if check else UNMEASURED


def _loops(machine, visit, placed, same, happened):
    """The newest standing check of each line that closes a loop between placed stations, as far as
    it counts; same: those lines that are one, as of `same_lines`."""
    standing = Check.objects.of_loops().counting_for(visit)
    standing = standing.with_measured_at()
    if visit is not None:
        standing = standing.filter(visit=visit, phase=Check.Phase.AS_FOUND)
    newest = {}
    for check in (
        standing.filter(item__station__machine=machine)
        .select_related("item__station__machine", "item__measured_from", "visit__shop")
        .prefetch_related("sweeps__readings")
        .order_by("measured_at", "pk")
    ):
        newest[same.get(check.item_id, check.item).pk] = check
    return [
        check
        for check in newest.values()
        if set(_ends(check.item, happened)) <= placed and happened.shown(check.item, check).counts
    ]


def _ends(item, happened):
    """(datum, station) of a line by the names that their stations have today."""
    datum, station = happened.link_of(item.station, item)
    return happened.names[datum].name, happened.names[station].name


def _loop(check, happened):
    stands, item = position_of(check), check.item
    datum, station = _ends(item, happened)
    return Link(
        station=station,
        datum=datum,
        z_mm=item.swept_plane_mm,
        measured=stands.measured,
        covariance=stands.covariance,
        dof_u=stands.dof_u,
    )


def _happened(machine, visit):
    """What happened by now, or by the end of a visit; what a visit found, it found before
    anything was moved there."""
    happened = happenings([machine.pk], (visit and visit.signed_at) or timezone.now())
    return happened if visit is None else replace(happened, adjusted={})


def _with_weak_links(placed):
    """The same, each with the links on its way that no longer count."""
    by_pk = {one.station.pk: one for one in placed}

    def way(one):
        datum = by_pk.get(one.station.datum_id)
        own = (one,) if one.state and one.state.was_measured and not one.state.counts else ()
        return (*(way(datum) if datum else ()), *own)

    return [replace(one, weak=way(one)) for one in placed]


def _links(stations, checks, tilts, first_pk):
    """A link for each station whose whole way to the first was measured, in checking order."""
    reached, links = {first_pk}, []
    waiting = [station for station in stations if station.datum_id and station.pk in checks]
    while ready := [station for station in waiting if station.datum_id in reached]:
        for station in ready:
            links.append(_link(station, checks[station.pk], tilts.get(station.pk)))
            reached.add(station.pk)
        waiting = [station for station in waiting if station.pk not in reached]
    return links


def _link(station, check, tilt):
    stands = position_of(check, tilt)
    return Link(
        station=station.name,
        datum=station.datum.name,
        z_mm=station.plane_mm,
        measured=stands.measured,
        covariance=stands.covariance,
        dof_u=stands.dof_u,
    )


def _deviation(link, checks, same, stations):
    station = next(station for station in stations if station.name == link.station)
    front_um, up_um = link.measured[:2]
    check = checks[station.pk]
    # Another sheet may allow more or less by now than the one it was entered under.
    asked = same.get(check.item_id, check)
    asked = check if asked.pk == check.item_id else asked
    allowed_um = offset_allowed_um(check.item.quantity, *asked.limits_um)
    return Deviation(front_um, up_um, np.asarray(link.covariance)[:2, :2], allowed_um)


def _placed(station, checks, placement, first, names, states):
    check, state = checks.get(station.pk), states.get(station.name)
    if station.pk == first.pk:
        return Placed(station, check, placement.axes[first.name], True)
    if station.name in placement.axes:
        measured = placement.direction_measured[station.name]
        return Placed(station, check, placement.axes[station.name], measured, state=state)
    if check is None:
        return Placed(station, None, None, why_not="never measured", state=state)
    why = f"measured from the {names[station.datum_id]}, which was never measured"
    return Placed(station, check, None, why_not=why, state=state)
