"""What is typed on the alignment pages, checked before a service sees it."""

from .adjustment import AdjustmentForm
from .incident import IncidentForm
from .sheets import LineFormSet, ScanForm, SheetForm, SheetListForm
from .sweep import SweepEntry

__all__ = [
    "AdjustmentForm",
    "IncidentForm",
    "LineFormSet",
    "ScanForm",
    "SheetForm",
    "SheetListForm",
    "SweepEntry",
]
