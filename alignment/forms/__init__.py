"""What is typed on the alignment pages, checked before a service sees it."""

from .adjustment import AdjustmentForm
from .incident import IncidentForm
from .sweep import SweepEntry

__all__ = ["AdjustmentForm", "IncidentForm", "SweepEntry"]
