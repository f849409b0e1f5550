"""The demo's two crashes, of our own invention: one that was put right, one that is open today."""

from datetime import timedelta

from alignment.incidents.services import log_incident_at
from machines.incidents.models import Incident
from machines.register.models import Station
from shop.lengths import parse_length

Kind = Station.Kind

# Far enough before the visit that a weekend between them turns nothing round.
FIRST_DAYS_AGO = 41
FIRST = {
    "what_hit": "sub-spindle",
    "hit_what": "bar end left in the guide bushing",
    "severity": Incident.Severity.HARD,
    "offset_seen": "0.04 mm",
    "broken": "sub-spindle collet, coolant nozzle",
    "note": "The part catcher did not take the last piece. The sub-spindle came forward for the "
    "next pick-off and ran into it at rapid.",
}
FIRST_HIT = [Kind.GUIDE_BUSHING, Kind.SUB_SPINDLE]
SECOND = {
    "what_hit": "boring bar holder on the gang slide",
    "hit_what": "guide bushing housing",
    "severity": Incident.Severity.KNOCK,
    "offset_seen": "0.03 mm",
    "broken": "boring bar",
    "note": "Wear offset keyed in with the wrong sign after the insert change.",
}
SECOND_HIT = [Kind.GUIDE_BUSHING, Kind.GANG_TOOLS]


def first_crash(scene, truth):
    """Machine 1, whose housing and sub-spindle are shifted; returns the incident."""
    truth.knock(Kind.GUIDE_BUSHING, 19.0, -12.0, tilt_um=(14.0, -11.0))
    truth.knock(Kind.SUB_SPINDLE, -31.0, 16.0)
    return _log(scene, "1", scene.moment_at("1", FIRST_DAYS_AGO, "14:20"), FIRST, FIRST_HIT)


def second_crash(scene):
    """Machine 2, yesterday: nobody has looked at it yet, and here a newcomer takes over."""
    return _log(scene, "2", scene.moment_at("2", 1, "15:35"), SECOND, SECOND_HIT)


def _log(scene, number, happened_at, account, hit):
    """Log a crash a few minutes after it happened, as the operator would."""
    told = dict(account)
    typed = told.pop("offset_seen")
    machine = scene.machines[number]
    return log_incident_at(
        machine=machine,
        stations=list(machine.stations.filter(kind__in=hit)),
        made_by=scene.people["operator"],
        made_at=happened_at + timedelta(minutes=6),
        happened_at=happened_at,
        offset_seen_um=parse_length(typed, "mm"),
        offset_seen_typed=typed,
        may_run=False,
        **told,
    )
