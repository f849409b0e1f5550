"""What stands on the floor, what happened to it and what should be replaced."""

from .followup import CheckLine, IncidentStep
from .incidents import Incident, IncidentPhoto, Standstill
from .inspections import BeltInspection, ToothCondition, ToothFinding
from .meters import MeterReading
from .plans import Plan, PlanClosing, PlanSubject, WantedWork
from .recommendations import Evidence, Recommendation, RecommendationStep
from .register import Axis, Belt, Machine, Part, VisitedMachine

__all__ = [
    "Axis",
    "Belt",
    "BeltInspection",
    "CheckLine",
    "Evidence",
    "Incident",
    "IncidentPhoto",
    "IncidentStep",
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
