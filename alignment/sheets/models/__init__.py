"""Tables of acceptance sheets."""

from .scans import (
    SheetScan,
    SheetScanQuerySet,
)
from .sheets import (
    BARS,
    AcceptanceItem,
    AcceptanceItemQuerySet,
    AcceptanceSheet,
    AcceptanceSheetQuerySet,
    figure_sign,
    in_order,
    view_of,
)

__all__ = [
    "BARS",
    "AcceptanceItem",
    "AcceptanceItemQuerySet",
    "AcceptanceSheet",
    "AcceptanceSheetQuerySet",
    "SheetScan",
    "SheetScanQuerySet",
    "figure_sign",
    "in_order",
    "view_of",
]
