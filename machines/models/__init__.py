"""What stands on the floor, what happened to it and what should be replaced."""

from .drive import Assembly, Bearing, Rebuild
from .fittings import Fitting, Removal
from .followup import CheckLine, IncidentStep
from .incidents import Incident, IncidentPhoto, Standstill
from .inspections import (
    BearingInspection,
    BeltInspection,
    BeltTension,
    ToothCondition,
    ToothFinding,
    ToothPhoto,
)
from .kinds import FirmKind
from .meters import MeterReading
from .onsite import BeltOff, FindingPhoto
from .past import IssuedHistory, ServiceBreak
from .plans import Plan, PlanClosing, PlanSubject, WantedWork
from .recommendations import Evidence, Recommendation, RecommendationStep
from .register import Axis, Belt, Machine, Part, VisitedMachine
from .standing import DueTime
from .thresholds import COMMON_PRACTICE, Thresholds

__all__ = [
    "COMMON_PRACTICE",
    "Assembly",
    "Axis",
    "Bearing",
    "BearingInspection",
    "Belt",
    "BeltInspection",
    "BeltOff",
    "BeltTension",
    "CheckLine",
    "DueTime",
    "Evidence",
    "FindingPhoto",
    "FirmKind",
    "Fitting",
    "Incident",
    "IncidentPhoto",
    "IncidentStep",
    "IssuedHistory",
    "Machine",
    "MeterReading",
    "Part",
    "Plan",
    "PlanClosing",
    "PlanSubject",
    "Rebuild",
    "Recommendation",
    "RecommendationStep",
    "Removal",
    "ServiceBreak",
    "Standstill",
    "Thresholds",
    "ToothCondition",
    "ToothFinding",
    "ToothPhoto",
    "VisitedMachine",
    "WantedWork",
]
