"""The stations that an incident hit."""

from django.db import models

from machines.register.models import Station
from shop.record import Frozen, Record

from .incidents import Incident, incident_signed


class IncidentStation(models.Model):
    """A station that was hit in an incident."""

    record_rules = Record(
        belongs_to=("station",), frozen=Frozen(incident_signed("{row}.incident_id"))
    )

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="stations_hit")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="hits")

    class Meta:
        db_table = "alignment_incidentstation"
        constraints = [
            models.UniqueConstraint(
                fields=["incident", "station"], name="a_station_once_per_incident"
            )
        ]

    def __str__(self):
        return f"{self.station} in {self.incident}"
