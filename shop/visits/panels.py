"""What was promised, and the clock, on a visit's page."""

import uuid

from shop.hooks import Panel
from shop.people.access import role_at, works_at
from shop.people.models import Role
from shop.snapshots.pages import cached_panel

from .models import Visit
from .worktime import work_time


@cached_panel
def come_backs(visit, request):
    """What earlier visits of the firm left to come back for, until the visit is signed; from then
    on what the visit itself left, and what became of it. Two queries, and no panel without any."""
    if visit.is_signed:
        found = Visit.objects.filter(pk=visit.pk).exclude(come_back_for="")
    else:
        found = Visit.objects.filter(shop=visit.shop_id, firm=visit.firm_id).to_come_back_to()
    found = list(found.select_related("shop").prefetch_related("come_back_steps__made_by"))
    if not found:
        return None
    left = [one for one in found if not any(_settles(step) for step in one.come_back_steps.all())]
    return Panel(
        "shop/panels/come_backs.html",
        {
            "left": found,
            "open": {one.pk for one in left},
            "told": f"{len(left)} open" if left else "settled",
            "may_work": works_at(request.user, visit),
        },
    )


def _settles(step):
    return step.state in step.SETTLED


def clock(visit, request):
    """Who was there how long, and the clock's buttons; two queries."""
    time = work_time(visit)
    may_work = not visit.is_signed and role_at(request.user, visit.shop) == Role.CONTRACTOR
    mine = next((one for one in time.running if one.who_id == request.user.pk), None)
    return Panel(
        "shop/panels/clock.html",
        {
            "visit": visit,
            "time": time,
            "told": _told(time),
            "mine": mine,
            "may_work": may_work,
            "entry_id": uuid.uuid4(),
            "request": request,
        },
    )


def _told(time):
    """The hours of a visit in a phrase; none where nobody clocked any."""
    if not time.clocked:
        return "not clocked"
    return f"{time.work_h} h{' running' if time.running else ''}"
