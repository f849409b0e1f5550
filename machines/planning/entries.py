"""What is due, as it stands in a person's calendar."""

from django.utils import timezone

from shop.planning.entries import TENTATIVE, Entry

from ..models import Machine
from .board import due_items


def due_days(user, first, last):
    """Each time something falls due between two days; a fixed number of queries.

    The next time of each plan keeps its uid until it is done or skipped, however its day moves;
    those after it are told by their number. What a planned visit takes up is told by the visit.
    """
    now = timezone.now()
    return [
        _entry(item, due, number)
        for item in due_items(Machine.objects.visible_to(user), now=now)
        for number, due in enumerate(item.until(last, now))
        if not (item.visit and number == 0) and due.on >= first
    ]


def _entry(item, due, number):
    machine = item.machine
    return Entry(
        uid=item.uid_of(number),
        kind="due",
        title=f"Due: {item.plan}, machine {machine.number}, {machine.shop}",
        shop=machine.shop,
        first=due.on,
        last=due.on,
        short=f"{item.plan}, machine {machine.number}",
        text=due.reason if number == 0 else item.plan.how_often,
        url=item.plan.get_absolute_url(),
        state=TENTATIVE,
        changed_at=item.changed_at,
    )
