"""What is typed on the alignment pages, checked before a service sees it."""

from .adjustment import AdjustmentForm
from .incident import IncidentForm
from .indicator import IndicatorForm
from .rows import BarEntry, FlatEntry
from .sheets import ScanForm, SheetForm, SheetListForm
from .station import StationForm
from .sweep import SweepEntry

__all__ = [
    "AdjustmentForm",
    "BarEntry",
    "FlatEntry",
    "IncidentForm",
    "IndicatorForm",
    "ScanForm",
    "SheetForm",
    "SheetListForm",
    "StationForm",
    "SweepEntry",
]
