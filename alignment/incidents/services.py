"""Logging an incident together with the stations it hit."""

from django.db import transaction

from alignment.sweeps.services import LONGEST_PLACE
from machines.incidents.models import IncidentStation
from machines.incidents.services import log_incident
from shop.web.errors import Refused


@transaction.atomic
def log_incident_at(*, machine, stations=(), **account):
    """Log an incident together with the stations that were hit."""
    if foreign := [station for station in stations if station.machine_id != machine.pk]:
        raise Refused(f"The {foreign[0]} belongs to another machine.")
    place = " and the ".join(station.name for station in stations)[:LONGEST_PLACE]
    incident = log_incident(machine=machine, place=place, **account)
    for station in stations:
        IncidentStation.objects.get_or_create(incident=incident, station=station)
    return incident
