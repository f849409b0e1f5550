"""What the triage of an incident needs to know of the machine's chain and its sheet."""

from alignment.geometry.drift.tolerance import offset_allowed_um
from alignment.sheets.models import AcceptanceItem
from machines.engineering.datum_chain import Station as ChainStation


def chain_of(incident):
    """(stations in checking order, names of those hit) of an incident's machine; three queries.

    A station's tolerance is the tightest of its items on the sheet in force, as an offset.
    """
    tolerances = _tolerances(incident.machine)
    stations = tuple(
        ChainStation(
            name=station.name,
            kind=station.kind,
            datum=station.datum.name if station.datum else None,
            tolerance_um=tolerances.get(station.pk),
        )
        for station in incident.machine.stations.current().select_related("datum")
    )
    hit = incident.stations_hit.values_list("station__name", flat=True)
    return stations, tuple(hit)


def _tolerances(machine):
    """Station pk to its tightest tolerance in µm."""
    tightest = {}
    items = AcceptanceItem.objects.in_force().with_limit().filter(sheet__machine=machine)
    for item in items:
        if allowed := offset_allowed_um(item.quantity, item.lower_um, item.upper_um):
            so_far = tightest.get(item.station_id, allowed)
            tightest[item.station_id] = min(so_far, allowed)
    return tightest
