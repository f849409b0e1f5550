"""What an incident calls for first, worked out from its record and its machine's own chain."""

from machines.engineering import triage
from machines.engineering.triage_rules import STATION_KINDS
from shop.hooks import from_above

# A description such as "main motor to main spindle" means the headstock's.
OTHER_NAMES = {"headstock": ("headstock", "main spindle")}


def first_look(incident):
    """The `Triage` of an incident, or None where its machine has no chain on record.

    Runs SQL: the machine's belts, and the stations of its chain.
    """
    stations, hit = from_above("incident chain")(incident)
    if not stations:
        return None
    return triage.triage(
        triage.IncidentFacts(
            what=incident.kind,
            stations=stations,
            where=hit,
            axis=incident.axis,
            direction=incident.direction,
            severity=incident.severity or None,
            offset_um=_size(incident.offset_seen_um),
            may_run=incident.may_run,
            belts=tuple(triage.Belt(b.name, turned_by(b)) for b in incident.machine.belts.all()),
        )
    )


def _size(offset_um):
    return None if offset_um is None else abs(float(offset_um))


def turned_by(belt):
    """The kinds of station a belt turns, as far as its description names them."""
    described = belt.drives.casefold()
    return tuple(
        kind
        for kind in STATION_KINDS
        if any(name in described for name in OTHER_NAMES.get(kind, (kind,))) and kind != "other"
    )
