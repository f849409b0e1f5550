"""The thread through a visit: what is done next at its machines, where, and how far each is."""

from dataclasses import dataclass, replace

from django.urls import reverse
from django.utils.http import urlencode
from django.utils.text import capfirst

from alignment.geometry.adjust.thread import (
    LOOK_AT_BELT,
    SWEEP_AS_FOUND,
    SWEEP_AS_LEFT,
    Line,
    Step,
    Stop,
    next_step,
    open_steps,
    step_at,
)
from machines.incidents.models import CheckLine
from machines.register.models import Machine
from machines.register.visited_machines import machines_at
from shop.web.request_memo import request_memo

from .chain_states import ItemState, StationState
from .chain_view import chains_of
from .models import Check

PHASES = {SWEEP_AS_FOUND: Check.Phase.AS_FOUND, SWEEP_AS_LEFT: Check.Phase.AS_LEFT}
SKIPPED = "skipped"  # under which a session keeps the keys of what was skipped
MOST_SKIPPED = 200
ROUND = ("bore", "boss")


@dataclass(frozen=True)
class ToDo:
    """A step at a visit as a page offers it: `what` on its button, `of` what it is done to."""

    step: Step
    machine: Machine
    of: str
    url: str

    @property
    def what(self):
        return capfirst(self.step.what)

    @property
    def words(self):
        return f"{self.what}: {self.of}"


@dataclass(frozen=True)
class MachineThread:
    """One machine at a visit: its chain in checking order, and what is open, in its order."""

    machine: Machine
    chain: tuple[StationState, ...]
    todos: tuple[ToDo, ...]

    def at(self, station_pk):
        """What is done next at one station; None where nothing is."""
        step = step_at([todo.step for todo in self.todos], station_pk)
        return next((todo for todo in self.todos if todo.step == step), None)


@dataclass(frozen=True)
class Thread:
    """The machines of a visit in the order they were taken up; `skipped`: keys of steps."""

    machines: tuple[MachineThread, ...]
    skipped: frozenset = frozenset()

    def next(self, machine_pk=None, station_pk=None):
        """What is done next, at `machine_pk` before the others and at `station_pk` before all
        where they are given; None when nothing is left but what was skipped."""
        of_steps = {todo.step: todo for todo in self._todos(machine_pk)}
        step = next_step(list(of_steps), self.skipped, at=station_pk)
        return of_steps.get(step)

    def after(self, todo):
        """What is next once one thing is done or skipped, at the same machine first."""
        without = replace(self, skipped=self.skipped | {todo.step.key})
        return without.next(todo.machine.pk)

    @property
    def every(self):
        """All that is open, skipped or not."""
        return self._todos(None)

    def skips_something(self):
        """Whether anything that is open is left out."""
        return any(todo.step.key in self.skipped for todo in self.every)

    def of(self, machine_pk):
        """The `MachineThread` of one machine; None for one that was not taken up."""
        return next((one for one in self.machines if one.machine.pk == machine_pk), None)

    def _todos(self, machine_pk):
        here_first = sorted(self.machines, key=lambda one: one.machine.pk != machine_pk)
        return [todo for one in here_first for todo in one.todos]


def thread_of(visit):
    """The `Thread` of a visit, nothing skipped, asked for once a page; nothing is open at one that
    was signed or corrects another. Two queries besides those of the chains."""
    return request_memo(("thread", visit.pk), lambda: _thread(visit))


def thread_for(request, visit):
    """The same without what the person skipped."""
    return without_skipped(request, thread_of(visit))


def without_skipped(request, thread):
    """A thread as this person's session goes along it."""
    kept = getattr(request, "session", {}).get(SKIPPED, ())
    return replace(thread, skipped=frozenset(kept))


def skip(request, key):
    """Leave a step out from now on, until everything else is done."""
    kept = [one for one in request.session.get(SKIPPED, ()) if one != key]
    request.session[SKIPPED] = [*kept, key][-MOST_SKIPPED:]


def _thread(visit):
    machines, chains = machines_at(visit), chains_of(visit)
    over = visit.is_signed or visit.is_called_off or visit.corrects_id is not None
    firsts = {} if over else _said_first(visit)
    belts = [] if over else _belts_off(visit)
    return Thread(
        tuple(
            MachineThread(
                one,
                tuple(chains[one.pk]),
                () if over else _todos(visit, one, chains[one.pk], firsts, belts),
            )
            for one in machines
        )
    )


def _said_first(visit):
    """(machine pk, name of a station) to its place in what its incident says to check first."""
    lines = CheckLine.objects.filter(visited__visit=visit, what=CheckLine.What.STATION)
    told = lines.values_list("visited__machine", "subject", "position")
    return {(machine, subject): position for machine, subject, position in told}


def _belts_off(visit):
    """The belts that are off and were not looked at."""
    waiting = visit.belts_off.not_looked_at().select_related("belt")
    return [off.belt for off in waiting.order_by("pk")]


def _todos(visit, machine, chain, firsts, belts):
    stops = [
        Stop(
            state.station.pk,
            tuple(_line(one) for one in state.items if not _is_extra(one)),
            firsts.get((machine.pk, state.station.name)),
        )
        for state in chain
    ]
    here = {belt.pk: belt for belt in belts if belt.machine_id == machine.pk}
    places = {state.station.pk: state for state in chain}
    return tuple(
        _todo(visit, machine, step, places, here) for step in open_steps(stops, list(here))
    )


def _is_extra(one: ItemState):
    """Whether it closes a loop that nobody began at this visit."""
    return one.item.closes_a_loop and not (one.as_found or one.as_left)


def _line(one: ItemState):
    item, final = one.item, one.final
    return Line(
        item.pk,
        counts=final is not None,
        outside=final is not None and final.verdict == Check.Verdict.OUTSIDE,
        moved=bool(one.moved_here),
        planned=item.surface in ROUND and not item.closes_a_loop,
    )


def _todo(visit, machine, step, places, belts):
    if step.what == LOOK_AT_BELT:
        address = reverse("machines:inspect_belt", args=[step.belt])
        return ToDo(step, machine, str(belts[step.belt]), f"{address}?visit={visit.pk}")
    state = places[step.stop]
    if step.line is None:
        address = reverse("alignment:adjust", args=[visit.pk, step.stop])
        return ToDo(step, machine, str(state.station), address)
    item = next(one.item for one in state.items if one.item.pk == step.line)
    several = len(state.items) > 1
    address = reverse("alignment:sweep", args=[visit.pk, step.line])
    phase = urlencode({"phase": PHASES[step.what]})
    return ToDo(step, machine, str(item if several else state.station), f"{address}?{phase}")
