"""What stands on the floor, what happened to it and what should be replaced."""

from .incidents import Incident, IncidentPhoto, Standstill
from .inspections import BeltInspection, ToothCondition, ToothFinding
from .meters import MeterReading
from .onsite import BeltOff, FindingPhoto
from .recommendations import Evidence, Recommendation, RecommendationStep
from .register import Axis, Belt, Machine, Part, VisitedMachine

__all__ = [
    "Axis",
    "Belt",
    "BeltInspection",
    "BeltOff",
    "Evidence",
    "FindingPhoto",
    "Incident",
    "IncidentPhoto",
    "Machine",
    "MeterReading",
    "Part",
    "Recommendation",
    "RecommendationStep",
    "Standstill",
    "ToothCondition",
    "ToothFinding",
    "VisitedMachine",
]
