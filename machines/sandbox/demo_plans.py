"""The demo's plans, made before its visits, and what lies ahead after them."""

from datetime import timedelta

from django.utils import timezone

from machines.planning.models import Plan
from machines.planning.plans import make_plan
from machines.planning.visit_planning import chosen, key_of, open_items, propose
from shop.calendar.models import ClosedDays
from shop.calendar.times import Slot

DAYS_BEFORE = 730
CHECK = {
    "what": "Check the alignment of the whole chain",
    "kind": Plan.Kind.ALIGNMENT,
    "months": 6,
    "spindle_hours": 1200,
    "after_incident": True,
    "cost": 480,
}
BY_RISK = {
    "what": "Measure what has drifted most",
    "kind": Plan.Kind.ALIGNMENT,
    "at_risk_percent": 10,
    "cost": 160,
}
BELT = {"kind": Plan.Kind.BELT, "months": 18, "spindle_hours": 3000, "cost": 60}
OIL = {
    "what": "Clean the lubricator's filter, fill up way oil",
    "kind": Plan.Kind.LUBRICATION,
    "weeks": 13,
    "counts_from": Plan.CountsFrom.DUE,
    "steps": "Lock out and discharge the machine.\nTake the filter out and rinse it.\nFill up to "
    "the mark with the oil the maker's manual names.",
}
OIL_LAST_DONE_DAYS_AGO = 70


def plan_the_years(scene):
    """Put the plans of every machine on record, as they stood when the demo's story begins."""
    for machine in scene.machines.values():
        began = scene.moment(machine.shop, DAYS_BEFORE, "09:00")
        owner = machine.shop.memberships.get(role="owner").user
        common = {"shop": machine.shop, "machine": machine, "made_by": owner}
        make_plan(**common, made_at=began, starts_on=began.date(), **CHECK)
        for belt in machine.belts.all():
            make_plan(
                **common,
                made_at=began,
                what=f"Look at the {belt.name}, tooth by tooth",
                subjects=[belt.name],
                starts_on=began.date(),
                **BELT,
            )
        oil = scene.moment(machine.shop, OIL_LAST_DONE_DAYS_AGO, "09:00")
        make_plan(**common, made_at=oil, starts_on=oil.date(), **OIL)


def look_ahead(scene):
    """A holiday, a proposal the contractor has not answered yet, and from today on plans by what
    the two years of visits say of drift."""
    shop, owner = scene.shops["quarlow"], scene.people["owner"]
    today = timezone.localdate(scene.now, timezone=shop.zone)
    ClosedDays.objects.create(
        shop=shop,
        first=today + timedelta(days=30),
        last=today + timedelta(days=36),
        why="works holiday",
        made_by=owner,
    )
    items = open_items(shop)[:3]
    propose(
        shop=shop,
        firm=scene.firm,
        purpose="Planned checks",
        slots=[Slot(_working_day(today, days)) for days in (9, 13)],
        pairs=chosen(items, [key_of(item) for item in items]),
        made_by=owner,
    )
    for machine in scene.machines.values():
        at_desk = machine.shop.memberships.get(role="owner").user
        starts_on = timezone.localdate(scene.now, timezone=machine.shop.zone)
        make_plan(
            shop=machine.shop, machine=machine, made_by=at_desk, starts_on=starts_on, **BY_RISK
        )


def _working_day(today, days):
    day = today + timedelta(days=days)
    return day + timedelta(days=max(0, 7 - day.weekday()) if day.weekday() > 4 else 0)
