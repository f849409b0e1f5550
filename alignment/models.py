"""What the indicator says: stations, acceptance sheets, checks, adjustments."""

from machines.incidents.models import IncidentStation
from machines.register.models import Station, StationMover

from .adjusting.models import AdjustingWay, StepTick
from .drift.models import MachineRisk
from .sheets.models import AcceptanceItem, AcceptanceSheet, SheetScan
from .sweeps.models import Adjustment, Check, Indicator, Reading, Sweep, SweepDraft

__all__ = [
    "AcceptanceItem",
    "AcceptanceSheet",
    "AdjustingWay",
    "Adjustment",
    "Check",
    "IncidentStation",
    "Indicator",
    "MachineRisk",
    "Reading",
    "SheetScan",
    "Station",
    "StationMover",
    "StepTick",
    "Sweep",
    "SweepDraft",
]
