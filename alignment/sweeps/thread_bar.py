"""The bar on top of the pages that a visit's thread leads through."""

from dataclasses import dataclass
from urllib.parse import quote

from django.urls import reverse

from alignment.geometry.adjust.thread import LOOK_AT_BELT, SWEEP_AS_FOUND, SWEEP_AS_LEFT
from machines.register.models import Machine
from shop.visits.models import Visit

from .models import Check
from .plan_lines import PlanLine, plan_lines
from .thread import ToDo, thread_for

SWEEPS = {Check.Phase.AS_FOUND: SWEEP_AS_FOUND, Check.Phase.AS_LEFT: SWEEP_AS_LEFT}


@dataclass(frozen=True)
class Dot:
    """A station of the bar: its `PlanLine`, whether the page is about it, where a tap goes."""

    line: PlanLine
    is_here: bool
    url: str


@dataclass(frozen=True)
class ThreadBar:
    """The stations of a machine as dots, what the page does (None for something that is not open),
    what comes after it, and where the bar is to be had as things are by then."""

    visit: Visit
    machine: Machine
    dots: tuple[Dot, ...]
    doing: ToDo | None
    after: ToDo | None
    fresh: str = ""


def sweep_bar(request, visit, item, phase):
    """The bar of a sweep's page."""
    doing = {"what": SWEEPS.get(phase), "line": item.pk}
    address = reverse("alignment:thread_bar", args=[visit.pk, item.pk])
    fresh = f"{address}?phase={quote(phase or '')}"
    return bar(request, visit, item.station.machine, item.station_id, fresh=fresh, **doing)


def belt_bar(request, visit, belt):
    """The bar of the page on which a belt is looked at during a visit."""
    return bar(request, visit, belt.machine, what=LOOK_AT_BELT, belt=belt.pk)


def bar(request, visit, machine, station_pk=None, *, fresh="", **doing):
    """The `ThreadBar` of a page about a station; None where the machine was not taken up, or
    nothing can be entered.

    doing: the attributes of the `Step` that the page is for.
    """
    thread = thread_for(request, visit)
    here = thread.of(machine.pk)
    if here is None or visit.is_signed or visit.corrects_id:
        return None
    doing = doing or {"stop": station_pk, "line": None}
    at = next((todo for todo in here.todos if _is(todo.step, doing)), None)
    after = thread.after(at) if at else thread.next(machine.pk)
    dots = [_dot(visit, line, station_pk) for line in plan_lines(here)]
    return ThreadBar(visit, machine, tuple(dots), at, after, fresh)


def _is(step, said):
    return all(getattr(step, name) == value for name, value in said.items())


def _dot(visit, line, station_pk):
    return Dot(line, line.station.pk == station_pk, _address(visit, line))


def _address(visit, line):
    """To what is next at the station, else to it in the plan."""
    if line.todo:
        return line.todo.url
    return f"{reverse('shop:visit', args=[visit.pk])}#station-{line.station.pk}"
