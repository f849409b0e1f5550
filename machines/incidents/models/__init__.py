"""Tables of incidents."""

from .follow_up import (
    CheckLine,
    CheckLineQuerySet,
    IncidentStep,
)
from .incidents import (
    Incident,
    IncidentPhoto,
    IncidentPhotoQuerySet,
    IncidentQuerySet,
    incident_signed,
)
from .stations_hit import (
    IncidentStation,
)
from .waiting_photos import WaitingPhoto

__all__ = [
    "CheckLine",
    "CheckLineQuerySet",
    "Incident",
    "IncidentPhoto",
    "IncidentPhotoQuerySet",
    "IncidentQuerySet",
    "IncidentStation",
    "IncidentStep",
    "WaitingPhoto",
    "incident_signed",
]
