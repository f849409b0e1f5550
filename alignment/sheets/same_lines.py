"""Which lines of a machine's sheets ask for the same thing, whatever sheet they stand on.

A sheet put in force anew, or a line of a station begun anew, asks for much that was measured
already; a check says where a station stands whichever of those lines it was entered under. Chain,
positions, drift and the page of a line all find by this what tells of it.
"""

from collections import defaultdict

from machines.register.models import Station, first_lines

from .models import AcceptanceItem

AT_HAND = ("sheet", "station", "measured_from")


def lines_of(item):
    """(the item in force that an item is, else itself; the pks of all that are the same), on
    whatever sheets; two queries."""
    stations = Station.objects.filter(machine=item.station.machine_id)
    line_of = first_lines(dict(stations.values_list("pk", "follows")))
    items = AcceptanceItem.objects.filter(station=item.station_id).select_related(*AT_HAND)
    same = same_lines(items, line_of)
    told_by = same.get(item.pk, item)
    return told_by, [item.pk, *(pk for pk, one in same.items() if one == told_by)]


def same_lines(items, line_of):
    """Pk of an item on any sheet to the item in force that it is; those in force are their own.

    It is the one of the same station, figure, surface and place that has the same name, else the
    only one left: a new sheet may call a line otherwise. items: all of some machines, each with
    its sheet, station and what it is `measured_from` at hand. line_of: station pk to the pk of its
    first line.
    """
    in_force, others = defaultdict(list), defaultdict(list)
    same = {}
    for item in items:
        if item.is_in_force:
            same[item.pk] = item
            in_force[_asked(item, line_of)].append(item)
        else:
            others[item.sheet_id, _asked(item, line_of)].append(item)
    for (_sheet, asked), old in others.items():
        same |= _paired(old, list(in_force[asked]))
    return same


def _paired(old, new):
    """Pk of each old item to the one among the new that it is; those without are left out."""
    same = {}
    for item in list(old):
        twin = next((one for one in new if one.name.casefold() == item.name.casefold()), None)
        if twin is not None:
            same[item.pk] = twin
            new.remove(twin)
            old = [one for one in old if one is not item]
    if len(new) == len(old) == 1:
        same[old[0].pk] = new[0]
    return same


def _asked(item, line_of):
    """What an item asks for. A loop has no line but its station's and where it is swept from."""
    loop = item.closes_a_loop and (
        line_of[item.measured_from_id],
        item.indicator_in,
        item.look,
        item.plane_mm,
    )
    return item.station_id, loop, item.quantity, item.surface, item.at_mm, item.nominal_um
