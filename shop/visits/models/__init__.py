"""Tables of visits: the visit itself, its times, signatures and numbers."""

from .clock import (
    SpellQuerySet,
    WorkSpell,
)
from .visits import (
    NumberSeries,
    Signature,
    SignedRecord,
    Visit,
    VisitQuerySet,
)

__all__ = [
    "NumberSeries",
    "Signature",
    "SignedRecord",
    "SpellQuerySet",
    "Visit",
    "VisitQuerySet",
    "WorkSpell",
]
