"""Tables of checks, sweeps, readings, adjustments and indicators."""

from .checks import (
    Adjustment,
    Check,
    CheckQuerySet,
    Reading,
    Sweep,
    stored_sign,
)
from .drafts import (
    SweepDraft,
)
from .indicators import (
    Indicator,
    IndicatorQuerySet,
)

__all__ = [
    "Adjustment",
    "Check",
    "CheckQuerySet",
    "Indicator",
    "IndicatorQuerySet",
    "Reading",
    "Sweep",
    "SweepDraft",
    "stored_sign",
]
