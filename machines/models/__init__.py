"""What stands on the floor, what happened to it and what should be replaced."""

from .incidents import Incident, IncidentPhoto, Standstill
from .inspections import BeltInspection, ToothCondition, ToothFinding
from .recommendations import Evidence, Recommendation, RecommendationStep
from .register import Axis, Belt, Machine, Part, VisitedMachine

__all__ = [
    "Axis",
    "Belt",
    "BeltInspection",
    "Evidence",
    "Incident",
    "IncidentPhoto",
    "Machine",
    "Part",
    "Recommendation",
    "RecommendationStep",
    "Standstill",
    "ToothCondition",
    "ToothFinding",
    "VisitedMachine",
]
