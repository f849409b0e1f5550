"""Tables of visits: the visit itself, its times, signatures and numbers."""

from .clock import (
    SpellQuerySet,
    WorkSpell,
)
from .come_back import ComeBackStep
from .visits import (
    NumberSeries,
    Signature,
    SignedRecord,
    Visit,
    VisitQuerySet,
)
from .withdrawing import (
    InForceManager,
    Withdrawable,
    WithdrawableCorrection,
    withdrawn_whole,
)

__all__ = [
    "ComeBackStep",
    "InForceManager",
    "NumberSeries",
    "Signature",
    "SignedRecord",
    "SpellQuerySet",
    "Visit",
    "VisitQuerySet",
    "Withdrawable",
    "WithdrawableCorrection",
    "WorkSpell",
    "withdrawn_whole",
]
