"""Tables of plans and of what is due."""

from .due_times import (
    DueTime,
    DueTimeQuerySet,
)
from .plans import (
    Plan,
    PlanClosing,
    PlanClosingQuerySet,
    PlanQuerySet,
    PlanSubject,
    WantedWork,
)

__all__ = [
    "DueTime",
    "DueTimeQuerySet",
    "Plan",
    "PlanClosing",
    "PlanClosingQuerySet",
    "PlanQuerySet",
    "PlanSubject",
    "WantedWork",
]
