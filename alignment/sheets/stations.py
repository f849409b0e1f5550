"""What changes the stations of a machine: added, changed, put in another place, ended."""

from django.db import transaction

from machines.register.models import Machine, Station
from shop.web.errors import Refused

from .setup import usual_setup

Kind = Station.Kind
# What a name says of the kind, in this order; common practice, no source.
NAMED = (
    ("guide bushing", Kind.GUIDE_BUSHING),
    ("sub-spindle", Kind.SUB_SPINDLE),
    ("sub spindle", Kind.SUB_SPINDLE),
    ("back tool", Kind.BACK_TOOLS),
    ("gang", Kind.GANG_TOOLS),
    ("turret", Kind.TURRET),
    ("headstock", Kind.HEADSTOCK),
    ("main spindle", Kind.HEADSTOCK),
)
# The datum of each kind, the first that is there (the usual chain; common practice, no source).
USUAL_DATUM = {
    Kind.GUIDE_BUSHING: (Kind.HEADSTOCK,),
    Kind.SUB_SPINDLE: (Kind.GUIDE_BUSHING, Kind.HEADSTOCK),
    Kind.BACK_TOOLS: (Kind.SUB_SPINDLE, Kind.GUIDE_BUSHING, Kind.HEADSTOCK),
}
OTHERWISE = (Kind.GUIDE_BUSHING, Kind.HEADSTOCK)
# Free places that a reordering passes through, so that no two stations stand in one.
PASSING = 10_000


def guessed(name):
    """A station as its name lets expect it, not saved: its kind, and how it is swept."""
    said = name.casefold()
    kind = next((kind for words, kind in NAMED if words in said), Kind.OTHER)
    return Station(name=name, kind=kind, **vars(usual_setup(kind)))


@transaction.atomic
def add_station(machine, station, *, datum=None):
    """Put a station behind the others of its machine; the first one is the master datum.

    Without a datum named it gets the usual one of its kind. Raises Refused for a name that the
    machine has, a datum of another machine, and a second master datum.
    """
    _locked(machine)
    there = list(machine.stations.current())
    if any(one.name.casefold() == station.name.casefold() for one in there):
        raise Refused(f"Machine {machine.number} has a station called {station.name} already.")
    station.machine = machine
    station.position = max((one.position for one in there), default=0) + 1
    station.datum = datum or usual_datum(station, there)
    _refuse_datum(station, there)
    station.save()
    return station


def usual_datum(station, there):
    """What a station of its kind is usually measured from; None for the first of all."""
    for kind in (*USUAL_DATUM.get(station.kind, OTHERWISE), None):
        for one in there:
            if one.kind == kind or (kind is None and one.datum_id is None):
                return one
    return None


def stations_named(machine, names):
    """{name as given: station}, made where the machine has none of that name, which begins a
    chain where there is none."""
    known = {one.name.casefold(): one for one in machine.stations.current()}
    found = {}
    for name in sorted(dict.fromkeys(names), key=_checking_order):
        if name.casefold() not in known:
            if not known and guessed(name).kind != Kind.HEADSTOCK:
                spindle = add_station(machine, guessed(Kind.HEADSTOCK.label))
                known[spindle.name.casefold()] = spindle
            known[name.casefold()] = add_station(machine, guessed(name))
        found[name] = known[name.casefold()]
    return found


def _checking_order(name):
    return list(Kind).index(guessed(name).kind)


def _refuse_datum(station, there):
    if station.datum_id is None:
        first = next((one for one in there if one.datum_id is None), None)
        if first:
            raise Refused(
                f"The {first} is the master datum; choose what this one is measured from."
            )
    elif station.datum_id not in {one.pk for one in there}:
        raise Refused("It is measured from a station that is not on this machine.")


@transaction.atomic
def move_station(station, *, up):
    """Let a station be checked one place earlier, or later; at the end of the row it stays.

    Raises Refused where it would be checked before its datum.
    """
    _locked(station.machine)
    row = list(station.machine.stations.current().order_by("position"))
    at = next(place for place, one in enumerate(row) if one.pk == station.pk)
    to = at - 1 if up else at + 1
    if not 0 <= to < len(row):
        return
    first, second = (row[at], row[to]) if up else (row[to], row[at])
    if first.datum_id == second.pk:
        raise Refused(f"The {first} is measured from the {second}, so that one is checked first.")
    places = first.position, second.position
    Station.objects.filter(pk=first.pk).update(position=PASSING + places[0])
    Station.objects.filter(pk=second.pk).update(position=places[0])
    Station.objects.filter(pk=first.pk).update(position=places[1])


@transaction.atomic
def end_station(station):
    """Take a station off its machine: ended where anything was entered of it, else deleted.

    Raises Refused while others are measured from it. Returns whether it was kept as ended.
    """
    _locked(station.machine)
    station.refresh_from_db()
    if station.ended_on:
        raise Refused(f"The {station} was ended already.")
    hanging = list(station.measured_from_it.current())
    if hanging:
        raise Refused(
            f"The {', the '.join(map(str, hanging))} is measured from the {station}; give it "
            "another datum first."
        )
    if not has_record(station):
        station.items.all().delete()
        station.delete()
        return False
    station.ended_on = station.machine.shop.today
    station.save(update_fields=["ended_on"])
    return True


def has_record(station):
    """Whether anything was entered of a station, or a sheet states limits for it."""
    return (
        station.items.with_limit().exists()
        or station.items.filter(checks__isnull=False).exists()
        or station.adjustments.exists()
        or station.hits.exists()
        or station.ticks.exists()
        or station.measured_from_it.exists()
    )


def _locked(machine):
    """One at a time per machine, so that no two stations get one place."""
    Machine.objects.select_for_update().get(pk=machine.pk)
