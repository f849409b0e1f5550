"""What the indicator says: stations, acceptance sheets, checks, adjustments."""

from .chain import AcceptanceItem, AcceptanceSheet, IncidentStation, Station
from .checks import Adjustment, Check, Reading, Sweep
from .ways import AdjustingWay

__all__ = [
    "AcceptanceItem",
    "AcceptanceSheet",
    "AdjustingWay",
    "Adjustment",
    "Check",
    "IncidentStation",
    "Reading",
    "Station",
    "Sweep",
]
