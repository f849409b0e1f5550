"""A station in one line: how it was found, how it was left, its state and its one next action.

The lines of a visit's plan and the dots of the bar that leads through it ask the same here.
"""

from dataclasses import dataclass

from alignment.geometry.adjust.state import BEFORE_A_CRASH, STALE

from .chain_states import ItemState, StationState
from .models import Check
from .thread import ToDo

WORST_FIRST = (Check.Verdict.OUTSIDE, Check.Verdict.NOT_PROVEN, Check.Verdict.NO_LIMIT)
# A word that fits under a dot, and what the dot is drawn as.
SHAPES = {
    Check.Verdict.WITHIN: "within",
    Check.Verdict.OUTSIDE: "outside",
    Check.Verdict.NOT_PROVEN: "not-proven",
    Check.Verdict.NO_LIMIT: "no-limit",
}


@dataclass(frozen=True)
class PlanLine:
    """A station in checking order; `word` says its state, `shape` how that is drawn.

    shown: the line of the sheet that is told of, the one that asks most; None without one. more:
    how many others there are.
    """

    number: int
    state: StationState
    word: str
    shape: str
    shown: ItemState | None
    more: int
    todo: ToDo | None

    @property
    def station(self):
        return self.state.station

    @property
    def is_after_a_move(self):
        """Whether it has to be swept again since something was moved here."""
        return self.shown is not None and bool(self.shown.moved_here) and not self.shown.final


def plan_lines(machine_thread):
    """The `PlanLine`s of one machine at a visit."""
    return [
        _line(number, state, machine_thread.at(state.station.pk))
        for number, state in enumerate(machine_thread.chain, start=1)
    ]


def _line(number, state, todo):
    word, shape = state_of_station(state)
    shown = min(state.items, key=_how_pressing, default=None)
    return PlanLine(number, state, word, shape, shown, max(len(state.items) - 1, 0), todo)


def _how_pressing(one):
    """Outside goes before what has to be measured again, that before what counts; what has no
    figure at this visit is told of last."""
    if one.final is None:
        return 1 if one.as_found or one.as_left else 9
    verdict = one.final.verdict
    if verdict == Check.Verdict.OUTSIDE:
        return 0
    return 2 + (WORST_FIRST.index(verdict) if verdict in WORST_FIRST else len(WORST_FIRST))


def state_of_station(state):
    """(word, shape) of a station by the lines of its sheet: the worst verdict once all count."""
    if not state.items:
        return ("datum", "datum") if state.is_datum_of_all else ("no line", "none")
    finals = [one.final for one in state.items if one.final]
    verdicts = {final.verdict for final in finals}
    if Check.Verdict.OUTSIDE in verdicts:
        return Check.Verdict.OUTSIDE.value, "outside"
    if again := _again(state):
        return again
    if len(finals) < len(state.items):
        return (f"{len(finals)} of {len(state.items)}", "part") if finals else ("to do", "none")
    verdict = next((one for one in WORST_FIRST if one in verdicts), Check.Verdict.WITHIN)
    return verdict.value, SHAPES[verdict]


def _again(state):
    """What has to be measured again because of this visit, or of a crash during it."""
    here = [one for one in state.items if not one.final and (one.as_found or one.as_left)]
    if any(one.state.word == STALE for one in here):
        return "moved", "again"
    if any(one.state.word == BEFORE_A_CRASH for one in here):
        return "again", "again"
    if any(one.moved_here and not one.final for one in state.items):
        return "moved", "again"
    return None
