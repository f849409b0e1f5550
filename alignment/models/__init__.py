"""What the indicator says: stations, acceptance sheets, checks, adjustments."""

from .cards import StepTick
from .chain import AcceptanceItem, AcceptanceSheet, IncidentStation, Station, StationMover
from .checks import Adjustment, Check, Reading, Sweep
from .drafts import SweepDraft
from .indicators import Indicator
from .sheets import SheetScan
from .standing import MachineRisk
from .ways import AdjustingWay

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
