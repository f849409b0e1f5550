"""A machine's datum chain as it stands at a visit: what was found, what was left, what is stale."""

from dataclasses import dataclass

from django.db.models import Max, OuterRef, Q, Subquery
from django.utils import timezone

from alignment.geometry.chain import stale_stations

from .models import AcceptanceItem, Adjustment, Check, Station


@dataclass(frozen=True)
class ItemState:
    """An acceptance item with its checks at one visit.

    as_found, as_left: the last check of each phase, None where there is none.
    before: the last check of an earlier visit. stale: something that bears on the item was moved
    after it was last measured.
    """

    item: AcceptanceItem
    as_found: Check | None
    as_left: Check | None
    before: Check | None
    stale: bool

    @property
    def left_alone(self):
        """Measured as found and nothing moved since: that stands as the as left figure too."""
        return self.as_found is not None and self.as_left is None and not self.stale

    @property
    def final(self):
        """The check that says how the item was left, None while that is not known."""
        if self.stale:
            return None
        return self.as_left or self.as_found


@dataclass(frozen=True)
class StationState:
    """A station in checking order; stale_because names the adjusted stations it waits for."""

    station: Station
    items: tuple[ItemState, ...]
    stale_because: tuple[Station, ...]
    adjustments: tuple[Adjustment, ...] = ()

    @property
    def is_stale(self):
        return bool(self.stale_because)

    @property
    def is_datum_of_all(self):
        return self.station.datum_id is None

    @property
    def measured(self):
        return bool(self.items) and all(state.final for state in self.items)

    @property
    def word(self):
        if self.is_datum_of_all and not self.items:
            return "datum"
        if self.is_stale:
            return "stale"
        return "measured" if self.measured else "not measured"


def _items(machine, visit, until):
    """Items of the sheet in force, with when each was last measured and its earlier check."""
    standing = Check.objects.standing(at=until).filter(item=OuterRef("pk"), made_at__lte=until)
    earlier = standing.exclude(visit=visit) if visit else standing
    newest = "-made_at", "-pk"
    return list(
        AcceptanceItem.objects.filter(sheet__machine=machine, sheet__is_current=True)
        .select_related("station")
        .annotate(
            last_measured=Subquery(standing.order_by(*newest).values("made_at")[:1]),
            before_id=Subquery(earlier.order_by(*newest).values("pk")[:1]),
        )
    )


def _checks(items, visit, until):
    """The checks of this visit and each item's earlier one, oldest first."""
    wanted = Q(pk__in=[item.before_id for item in items if item.before_id])
    if visit:
        wanted |= Q(visit=visit, item__in=[item.pk for item in items])
    return list(
        Check.objects.standing(at=until)
        .filter(wanted)
        .select_related("visit__shop", "item")
        .order_by("made_at", "pk")
    )


def _item_state(item, checks, visit, stale):
    mine = [check for check in checks if check.item_id == item.pk]
    here = [check for check in mine if visit and check.visit_id == visit.pk]
    last = {check.phase: check for check in here}
    return ItemState(
        item=item,
        as_found=last.get(Check.Phase.AS_FOUND),
        as_left=last.get(Check.Phase.AS_LEFT),
        before=next((check for check in mine if check.pk == item.before_id), None),
        stale=stale,
    )


def chain_at(machine, visit=None):
    """The `StationState`s of a machine in checking order, as seen at `visit`; four queries.

    A signed visit is seen as it was signed, whatever happened since. Without a visit each item
    shows its newest check as the earlier one.
    """
    until = visit.signed_at if visit and visit.signed_at else timezone.now()
    stations = list(
        machine.stations.select_related("datum").annotate(
            last_adjusted=Max("adjustments__made_at", filter=Q(adjustments__made_at__lte=until))
        )
    )
    items = _items(machine, visit, until)
    checks = _checks(items, visit, until)
    adjustments = (
        list(visit.adjustments.filter(station__machine=machine).select_related("made_by"))
        if visit
        else []
    )
    stale = _stale_items(stations, items)
    by_pk = {station.pk: station for station in stations}
    return [
        _station_state(
            station,
            [
                _item_state(item, checks, visit, bool(stale[item.pk]))
                for item in items
                if item.station_id == station.pk
            ],
            [by_pk[pk] for item in items if item.station_id == station.pk for pk in stale[item.pk]],
            [a for a in adjustments if a.station_id == station.pk],
        )
        for station in stations
    ]


def _station_state(station, item_states, because, adjustments):
    return StationState(
        station=station,
        items=tuple(item_states),
        stale_because=tuple(dict.fromkeys(because)),
        adjustments=tuple(adjustments),
    )


def _stale_items(stations, items):
    """Item pk to the pks of the adjusted stations that make it stale.

    A station counts as measured when the item measured longest ago was: one item measured anew
    does not vouch for the others.
    """
    datum_of = {station.pk: station.datum_id for station in stations}
    adjusted = {s.pk: s.last_adjusted for s in stations if s.last_adjusted}
    stale = {}
    for item in items:
        measured = {item.station_id: item.last_measured} if item.last_measured else {}
        stale[item.pk] = stale_stations(datum_of, measured, adjusted).get(item.station_id, ())
    return stale
