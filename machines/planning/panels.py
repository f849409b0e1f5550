"""What the planning part shows on the pages of machines and visits, and on the first page.

Each panel runs a fixed number of queries however long the records are.
"""

from dataclasses import dataclass
from datetime import datetime

from machines.engineering.due import BUCKETS
from machines.register.meter_records import standings
from machines.register.models import MeterReading
from machines.register.visited_machines import machines_at
from shop.hooks import Panel
from shop.people.access import DESK, may_enter, role_at
from shop.people.models import Shop
from shop.snapshots.pages import cached_panel
from shop.web.wording import day_text

from .board import DueItem
from .due_times import items_of, standing_dues
from .plans import DoneAtVisit

ITEMS_ON_HOME = 6
LEAST_PRESSING = "this week"


@dataclass(frozen=True)
class VisitWork:
    """A due item at a visit: whether it is wanted there, when it was done there if it was, and what
    of it is left out where something was done."""

    item: DueItem
    wanted: bool
    moment: datetime | None
    left_out: tuple[str, ...] = ()


def home_due(request):
    """What is overdue or due within the week, the first of it, over all the person's shops."""
    dues = standing_dues(Shop.objects.visible_to(request.user)).next_times()
    pressing = dues.filter(rank__lte=BUCKETS.index(LEAST_PRESSING)).most_pressing_first()
    return Panel("machines/panels/home_due.html", {"items": items_of(pressing[:ITEMS_ON_HOME])})


@cached_panel
def plans(machine, request):
    """What is due at the machine, all of it."""
    out = machine.is_out_of_service
    at_desk = role_at(request.user, machine.shop) in DESK
    dues = standing_dues(Shop.objects.filter(pk=machine.shop_id)).next_times()
    items = items_of(dues.filter(machine=machine))
    return Panel(
        "machines/panels/plans.html",
        {
            "machine": machine,
            "items": items,
            "out_of_service": out,
            "may_plan": not out and at_desk,
            "desk": {machine.shop_id} if at_desk else set(),
        },
        title="Due",
        summary=_due_summary(items),
    )


def _due_summary(items):
    """How many are overdue, and what comes next."""
    days = [item for item in items if item.due.on]
    late = sum(item.due.on < item.today for item in days)
    ahead = [item for item in days if item.due.on >= item.today]
    told = [f"{late} overdue"] * bool(late)
    if ahead:
        first = min(ahead, key=lambda item: item.due.on)
        told.append(f"{first.plan} on {day_text(first.due.on)}")
    return " · ".join(told) or ("nothing with a day" if items else "nothing planned")


@cached_panel
def visit_work(visit, request):
    """What is due or wanted at the machines visited, and what was done of it."""
    if not machines_at(visit):
        return None
    closings = visit.plan_closings.in_effect().select_related("plan", "machine")
    closings = list(closings.order_by("machine__number", "pk"))
    dues = standing_dues(Shop.objects.filter(pk=visit.shop_id)).next_times()
    work = visit_work_rows(visit, items_of(dues.filter(machine__visited__visit=visit)))
    return Panel(
        "machines/panels/visit_work.html",
        {
            "visit": visit,
            "closings": closings,
            "work": work,
            "told": _work_told(work, closings),
            "may_work": may_enter(request.user, visit),
        },
    )


def _work_told(work, closings):
    """What is due at a visit in a few words."""
    left = sum(row.moment is None for row in work)
    if left:
        return f"{left} of {len(work) + len(closings)} to do"
    return "done" if work or closings else "nothing due"


def visit_work_rows(visit, items):
    """Of what is due at the machines visited (`items`): this month, wanted at the visit or done
    there, and not closed yet; nothing once it is signed."""
    if visit.is_signed:
        return []
    done = DoneAtVisit(visit)
    wanted = set(visit.wanted.values_list("plan", "machine"))
    work = [
        VisitWork(
            item,
            (item.plan.pk, item.machine.pk) in wanted,
            done.moment(item.plan, item.machine),
            _left_out(done, item),
        )
        for item in items
    ]
    closed = set(visit.plan_closings.in_effect().values_list("plan", "machine"))
    return [
        row
        for row in work
        if row.wanted or row.moment is not None or row.item.bucket != "later"
        if (row.item.plan.pk, row.item.machine.pk) not in closed
    ]


def _read_told(read):
    if all(read):
        return "read"
    return f"{sum(read)} of {len(read)} read" if any(read) else "not read"


def _left_out(done, item):
    """What is left to do of a plan that was begun at the visit."""
    begun = done.has_begun(item.plan, item.machine)
    return tuple(done.left_out(item.plan, item.machine)) if begun else ()


@cached_panel
def meters(machine, request):
    """What the machine's meters show and how much it is used."""
    found = standings(machine)
    read = [f"{one.kind} {one.last.value:,}" for one in found if one.last]
    return Panel(
        "machines/panels/meters.html",
        {
            "machine": machine,
            "standings": found,
            "in_brackets": any(one.rate and one.rate.low is not None for one in found),
        },
        title="Meters",
        summary=" · ".join(read) or "not read yet",
    )


@cached_panel
def visit_meters(visit, request):
    """The meters of the machines visited: read at this visit, or still to be read."""
    machines = machines_at(visit)
    if not machines:
        return None
    readings = MeterReading.objects.counted().filter(visit=visit)
    read = [
        (machine, [reading for reading in readings if reading.machine_id == machine.pk])
        for machine in machines
    ]
    return Panel(
        "machines/panels/visit_meters.html",
        {
            "visit": visit,
            "read": read,
            "told": _read_told([bool(readings) for _machine, readings in read]),
            "may_work": may_enter(request.user, visit),
        },
    )
