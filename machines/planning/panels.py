"""What the planning part shows on the pages of machines and visits, and on the first page.

Each panel runs a fixed number of queries however long the records are.
"""

from dataclasses import dataclass
from datetime import datetime

from shop.access import DESK, may_enter, role_at
from shop.composing import Panel

from ..models import Machine, MeterReading
from .board import DueItem, due_items
from .meters import standings
from .plans import DoneAtVisit

ITEMS_ON_HOME = 6
# What is due at more machines than these takes longer than anybody waits for the first page.
MOST_ON_HOME = 400
PRESSING = ("overdue", "this week")


@dataclass(frozen=True)
class VisitWork:
    """A due item at a visit: whether it is wanted there, and when it was done there if it was."""

    item: DueItem
    wanted: bool
    moment: datetime | None


def home_due(request):
    """What is overdue or due this week, over all the person's shops."""
    machines = Machine.objects.visible_to(request.user)
    if machines[MOST_ON_HOME:].exists():
        return Panel("machines/panels/home_due.html", {"left_to_its_page": True})
    items = due_items(machines)
    pressing = [item for item in items if item.bucket in PRESSING]
    return Panel("machines/panels/home_due.html", {"items": pressing[:ITEMS_ON_HOME]})


def plans(machine, request):
    """What is due at the machine, all of it."""
    out = machine.is_out_of_service
    at_desk = role_at(request.user, machine.shop) in DESK
    return Panel(
        "machines/panels/plans.html",
        {
            "machine": machine,
            "items": due_items(Machine.objects.filter(pk=machine.pk)),
            "out_of_service": out,
            "may_plan": not out and at_desk,
            "desk": {machine.shop_id} if at_desk else set(),
        },
    )


def visit_work(visit, request):
    """What is due or wanted at the machines visited, and what was done of it."""
    if not visit.visited.exists():
        return None
    closings = visit.plan_closings.standing().select_related("plan", "machine")
    closings = closings.order_by("machine__number", "pk")
    work = visit_work_rows(visit)
    return Panel(
        "machines/panels/visit_work.html",
        {
            "visit": visit,
            "closings": closings,
            "work": work,
            "may_work": may_enter(request.user, visit),
        },
    )


def visit_work_rows(visit):
    """What is due this month, wanted at a visit or done there, and not closed yet; nothing once it
    is signed."""
    if visit.is_signed:
        return []
    done = DoneAtVisit(visit)
    wanted = set(visit.wanted.values_list("plan", "machine"))
    work = [
        VisitWork(
            item,
            (item.plan.pk, item.machine.pk) in wanted,
            done.moment(item.plan, item.machine),
        )
        for item in due_items(Machine.objects.filter(visited__visit=visit))
    ]
    closed = set(visit.plan_closings.standing().values_list("plan", "machine"))
    return [
        row
        for row in work
        if row.wanted or row.moment is not None or row.item.bucket != "later"
        if (row.item.plan.pk, row.item.machine.pk) not in closed
    ]


def meters(machine, request):
    """What the machine's meters show and how much it is used."""
    return Panel(
        "machines/panels/meters.html", {"machine": machine, "standings": standings(machine)}
    )


def visit_meters(visit, request):
    """The meters of the machines visited: read at this visit, or still to be read."""
    machines = {here.machine_id: here.machine for here in visit.visited.select_related("machine")}
    if not machines:
        return None
    readings = MeterReading.objects.counted().filter(visit=visit)
    read = [
        (machine, [reading for reading in readings if reading.machine_id == machine.pk])
        for machine in machines.values()
    ]
    return Panel(
        "machines/panels/visit_meters.html",
        {"visit": visit, "read": read, "may_work": may_enter(request.user, visit)},
    )
