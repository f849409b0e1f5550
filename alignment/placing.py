"""Where every station of a machine stands in the headstock's frame, and what explains bad ones."""

import math
from dataclasses import dataclass

import numpy as np
from django.db.models import OuterRef, Subquery

from alignment.geometry.axis import Axis
from alignment.geometry.culprit import Culprit, Deviation, explain_bad_chain
from alignment.geometry.placing import Link, offset_in_frame, place_stations
from alignment.geometry.tolerance import offset_allowed_um

from .models import Check
from .standing import standing_of


@dataclass(frozen=True)
class Placed:
    """A station in the headstock's frame: its axis, None where it cannot be placed, and why."""

    station: object
    check: Check | None
    axis: Axis | None
    direction_measured: bool = False
    why_not: str = ""

    @property
    def right_um(self):
        return float(self.axis.parameters[0])

    @property
    def up_um(self):
        return float(self.axis.parameters[1])

    @property
    def slopes(self):
        """(right, up) in µm per 100 mm, None where a tilt on the way was never measured."""
        return tuple(map(float, self.axis.parameters[2:])) if self.direction_measured else None

    @property
    def u_um(self):
        """Standard uncertainty of the larger direction; None where it is not known."""
        u = math.sqrt(float(np.diag(self.axis.covariance)[:2].max()))
        return u if math.isfinite(u) else None


@dataclass(frozen=True)
class PlacedChain:
    """All stations of a machine in checking order, and the best explanations of bad readings."""

    stations: tuple[Placed, ...]
    culprits: tuple[Culprit, ...]


def last_checks(machine, visit=None, *, tilts=False):
    """Station pk to its newest standing check of an offset, or of a tilt, with its readings.

    With a visit those as found there: what a crash did shows before anything was moved. Three
    queries.
    """
    checks = Check.objects.of_tilts() if tilts else Check.objects.of_offsets()
    standing = checks.standing(at=visit.signed_at if visit else None)
    if visit is not None:
        standing = standing.filter(visit=visit, phase=Check.Phase.AS_FOUND)
    newest = standing.filter(item__station=OuterRef("pk")).newest_first()
    wanted = machine.stations.annotate(last=Subquery(newest.values("pk")[:1])).values("last")
    found = (
        Check.objects.filter(pk__in=wanted)
        .select_related("item__station", "visit__shop")
        .prefetch_related("sweeps__readings")
    )
    return {check.item.station_id: check for check in found}


def placed_chain(machine, visit=None):
    """The `PlacedChain` of a machine from its newest checks, or as found at a visit."""
    stations = list(machine.stations.select_related("datum"))
    checks = last_checks(machine, visit)
    tilts = last_checks(machine, visit, tilts=True)
    names = {station.pk: station.name for station in stations}
    first = next((station for station in stations if station.datum_id is None), None)
    if first is None:
        return PlacedChain((), ())
    links = _links(stations, checks, tilts, first.pk)
    placement = place_stations(links, first.name)
    placed = [_placed(station, checks, placement, first, names) for station in stations]
    datum_of = {s.name: names.get(s.datum_id) for s in stations}
    culprits = explain_bad_chain(
        datum_of, {link.station: _deviation(link, checks, stations) for link in links}
    )
    return PlacedChain(tuple(placed), culprits)


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
    stands = standing_of(check, tilt)
    return Link(
        station=station.name,
        datum=station.datum.name,
        z_mm=station.plane_mm,
        measured=stands.measured,
        covariance=stands.covariance,
        view=station.look,
        indicator_in=station.indicator_in,
        dof_u=stands.dof_u,
    )


def _deviation(link, checks, stations):
    station = next(station for station in stations if station.name == link.station)
    right_um, up_um = offset_in_frame(link)
    check = checks[station.pk]
    allowed_um = offset_allowed_um(check.item.quantity, check.lower_um, check.upper_um)
    return Deviation(right_um, up_um, np.asarray(link.covariance)[:2, :2], allowed_um)


def _placed(station, checks, placement, first, names):
    check = checks.get(station.pk)
    if station.pk == first.pk:
        return Placed(station, check, placement.axes[first.name], True)
    if station.name in placement.axes:
        measured = placement.direction_measured[station.name]
        return Placed(station, check, placement.axes[station.name], measured)
    if check is None:
        return Placed(station, None, None, why_not="never measured")
    why = f"measured from the {names[station.datum_id]}, which was never measured"
    return Placed(station, check, None, why_not=why)
