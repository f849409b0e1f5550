"""What is typed on the alignment pages, checked before a service sees it."""

from .adjustment import AdjustmentForm
from .incident import IncidentForm
from .indicator import IndicatorForm
from .rows import BarEntry, FlatEntry
from .sheets import LineFormSet, ScanForm, SheetForm, SheetListForm
from .station import StationForm
from .sweep import SweepEntry

__all__ = [
    "AdjustmentForm",
    "BarEntry",
    "FlatEntry",
    "IncidentForm",
    "IndicatorForm",
    "LineFormSet",
    "ScanForm",
    "SheetForm",
    "SheetListForm",
    "StationForm",
    "SweepEntry",
]
