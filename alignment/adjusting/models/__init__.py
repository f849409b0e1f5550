"""Tables of ways of adjusting and of ticked cards."""

from .cards import (
    StepTick,
)
from .ways import (
    AdjustingWay,
)

__all__ = [
    "AdjustingWay",
    "StepTick",
]
