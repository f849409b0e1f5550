"""What stands on the floor, what happened to it and what should be replaced."""

from .incidents import Incident, IncidentPhoto, Standstill
from .inspections import BeltInspection, ToothCondition, ToothFinding
from .meters import MeterReading
from .onsite import BeltOff, FindingPhoto
from .plans import Plan, PlanClosing, PlanSubject, WantedWork
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
    "Plan",
    "PlanClosing",
    "PlanSubject",
    "Recommendation",
    "RecommendationStep",
    "Standstill",
    "ToothCondition",
    "ToothFinding",
    "VisitedMachine",
    "WantedWork",
]
