"""What is typed on the alignment pages, checked before a service sees it."""

from .adjustment import AdjustmentForm
from .incident import IncidentForm
from .indicator import IndicatorForm
from .rows import BarEntry, FlatEntry
from .sweep import SweepEntry

__all__ = ["AdjustmentForm", "BarEntry", "FlatEntry", "IncidentForm", "IndicatorForm", "SweepEntry"]
