"""Which due work goes together in one visit, so that travel is saved."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from .inputs import whole

# Work done earlier than this is other work.
_MOST_EARLY_DAYS = 731


@dataclass(frozen=True)
class Trip:
    """A visit on the day ``on`` at which all of ``work`` is done: none of it late."""

    on: date
    work: tuple[Hashable, ...]


def trips(dues: Iterable[tuple[date, Hashable]], today: date, early_days: int) -> list[Trip]:
    """The fewest visits that do all the work, none later than it is due nor earlier than
    ``early_days`` before.

    dues: (the day due, the work) in any order; what is overdue is due today. Each visit waits for
    the first day due of what is left and takes along all that may be done by then. That this needs
    the fewest visits is the classic result on stabbing intervals with points (from memory).
    ValueError for early days below zero or beyond two years.
    """
    early_days = whole(early_days, "The days that work may be done early", 0)
    if early_days > _MOST_EARLY_DAYS:
        raise ValueError(f"Work may be done at most {_MOST_EARLY_DAYS} days early.")
    left = sorted(((max(on, today), work) for on, work in dues), key=lambda pair: pair[0])
    found: list[Trip] = []
    while left:
        day = left[0][0]
        latest = day + timedelta(days=early_days)
        together = tuple(work for on, work in left if on <= latest)
        found.append(Trip(day, together))
        left = left[len(together) :]
    return found
