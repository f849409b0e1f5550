"""The clock on a visit's page."""

import uuid

from shop.hooks import Panel
from shop.people.access import role_at
from shop.people.models import Role

from .worktime import work_time


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
