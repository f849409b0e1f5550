"""What a check is worth by what happened since: the one rule that every page and paper asks.

A check tells where a station stands seen from its own datum, or where it closes a loop, from what
it was measured from. It is stale when the station or that was adjusted since, and from before the
crash when a knock since then hit either, or nobody knows what it hit. What happened further up the
chain moves both alike and changes nothing. A crash goes before an adjustment: nobody knows what it
did until the link is measured anew.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

STALE = "stale"
BEFORE_A_CRASH = "before the crash"
NOT_MEASURED = "not measured"


@dataclass(frozen=True)
class Knock:
    """Something that may have shifted a casting: when, which stations it hit (none: nobody
    knows), and the record that says so."""

    at: Any
    hit: frozenset = frozenset()
    record: Any = None

    def concerns(self, link: Iterable[Hashable]) -> bool:
        """Whether it may have moved one end of a link against the other."""
        return not self.hit or not self.hit.isdisjoint(link)


@dataclass(frozen=True)
class CheckState:
    """``word``: the verdict while it counts, else STALE, BEFORE_A_CRASH or NOT_MEASURED.

    ``moved``: the ends of the link that were adjusted since, the datum first. ``knock``: the last
    that concerns it since, None without one.
    """

    word: str
    moved: tuple = ()
    knock: Knock | None = None

    @property
    def counts(self) -> bool:
        """Whether the figure says where the station stands now."""
        return self.word not in (STALE, BEFORE_A_CRASH, NOT_MEASURED)


def check_state(
    station: Hashable,
    datum: Hashable | None,
    *,
    measured_at: Any,
    verdict: str,
    adjusted: Mapping[Hashable, Any],
    knocks: Iterable[Knock],
) -> CheckState:
    """The state of the newest check of an item at ``station``, measured from ``datum``, which of
    an item that closes a loop is not the station's own.

    ``measured_at``: when, None for never; ``verdict``: what it came to; ``adjusted``: when each
    station was last adjusted, None or left out for never. Times are of any one kind that can be
    compared; what happened at the very moment of measuring came before it.
    """
    if measured_at is None:
        return CheckState(NOT_MEASURED)
    link = (station,) if datum is None else (datum, station)
    since = [one for one in knocks if one.at > measured_at and one.concerns(link)]
    moved = tuple(
        end for end in link if adjusted.get(end) is not None and adjusted[end] > measured_at
    )
    if since:
        return CheckState(BEFORE_A_CRASH, moved, max(since, key=lambda knock: knock.at))
    return CheckState(STALE if moved else str(verdict), moved)
