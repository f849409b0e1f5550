"""What is done next at a machine that is measured and moved back: one rule that every page asks.

The order is common practice, no source. First everything is swept as found, since moving one
station loses how it and what is measured from it stood; what the incident puts in doubt goes
first. Then a belt that is off is looked at, while it is in the hand. Then, down the datum chain
from the headstock, each station that was moved, or whose datum was, is swept as left, and one that
is outside its limits is moved: what stands further down is measured from it.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Sequence
from dataclasses import dataclass

SWEEP_AS_FOUND = "sweep as found"
LOOK_AT_BELT = "look at the belt while it is off"
PLAN_MOVE = "plan the move"
ADJUST = "adjust"
SWEEP_AS_LEFT = "sweep as left"


@dataclass(frozen=True)
class Line:
    """A line of the sheet at a visit.

    ``key``: what it is known by. ``counts``: whether a check of this visit says where the station
    stands now; ``outside``: whether that check found it outside its limits. ``moved``: whether one
    of the two ends that it is measured between was moved at this visit, so that how it was found
    can no longer be had. ``planned``: whether a move can be worked out from it.
    """

    key: Hashable
    counts: bool = False
    outside: bool = False
    moved: bool = False
    planned: bool = True


@dataclass(frozen=True)
class Stop:
    """A station in checking order with its lines; the master datum first.

    ``first``: its place in what the incident says to check first, None where it says nothing.
    """

    key: Hashable
    lines: tuple[Line, ...] = ()
    first: int | None = None


@dataclass(frozen=True)
class Step:
    """One thing to do: what, and at which station (``stop``) and ``line``, or which ``belt``."""

    what: str
    stop: Hashable = None
    line: Hashable = None
    belt: Hashable = None

    @property
    def short(self) -> str:
        """The same where its station stands beside it and how it stands is seen."""
        return {SWEEP_AS_FOUND: "sweep", LOOK_AT_BELT: "look at it"}.get(self.what, self.what)

    @property
    def key(self) -> str:
        """What it is skipped by."""
        return f"{self.what.replace(' ', '-')}:{self.line or self.stop or self.belt}"


def open_steps(stops: Sequence[Stop], belts_off: Iterable[Hashable] = ()) -> tuple[Step, ...]:
    """Every step that is open at a machine now, in the order they are done.

    ``belts_off``: the belts that are off and were not looked at. What a step leads to, such as the
    sweep after a move, is open once that step was done.
    """
    found_first = sorted(stops, key=lambda stop: (stop.first is None, stop.first or 0))
    found = [
        Step(SWEEP_AS_FOUND, stop.key, line.key)
        for stop in found_first
        for line in stop.lines
        if not line.counts and not line.moved
    ]
    belts = [Step(LOOK_AT_BELT, belt=belt) for belt in belts_off]
    return (*found, *belts, *(step for stop in stops for step in _bring_true(stop)))


def _bring_true(stop: Stop) -> list[Step]:
    """What a station needs to be left true: swept where it was moved, moved where it is outside."""
    sweeps = [
        Step(SWEEP_AS_LEFT, stop.key, line.key)
        for line in stop.lines
        if line.moved and not line.counts
    ]
    outside = [line for line in stop.lines if line.counts and line.outside]
    if sweeps or not outside:
        return sweeps
    planned = any(line.planned for line in outside)
    return [Step(PLAN_MOVE if planned else ADJUST, stop.key)]


def next_step(
    steps: Sequence[Step], skipped: Collection[str] = (), at: Hashable = None
) -> Step | None:
    """The first open step that nobody skipped; None when nothing is left but what was skipped.

    ``at``: the station that was just moved, or swept after a move. Its own step goes first, so
    that what was loosened is not left for another place.
    """
    left = [step for step in steps if step.key not in skipped]
    return next((step for step in left if at is not None and step.stop == at), None) or next(
        iter(left), None
    )


def step_at(steps: Sequence[Step], stop: Hashable) -> Step | None:
    """The first open step at one station, skipped or not; None where it has none."""
    return next((step for step in steps if step.stop == stop), None)
