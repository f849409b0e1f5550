"""What is due, as it stands in a person's calendar."""

import uuid
from datetime import timedelta

from django.db.models import Count, Window
from django.db.models.functions import RowNumber
from django.urls import reverse
from django.utils import timezone

from machines.register.models import Machine
from shop.calendar.entries import TENTATIVE, Entry
from shop.people.models import Shop

from .board import due_items
from .due_times import DAYS_AHEAD, item_of, standing_dues
from .models import DueTime


def due_days(user, first, last, most=None):
    """Each time something falls due between two days; a fixed number of queries.

    The next time of each plan keeps its uid until it is done or skipped, however its day moves;
    those after it are told by their number. What a planned visit takes up is told by the visit.
    most: so many of a day, and then one entry that says how many more there are.
    """
    now = timezone.now()
    if last >= now.date() + timedelta(days=DAYS_AHEAD):
        return _far_ahead(user, first, last, now)
    shops = Shop.objects.visible_to(user)
    dues = standing_dues(shops).filter(by__range=(first, last)).exclude(number=0, visit__gt=0)
    shown = dues
    if most is not None:
        of_day = Window(RowNumber(), partition_by="by", order_by=("place", "pk"))
        shown = dues.annotate(place_in_day=of_day).filter(place_in_day__lte=most)
    rows = (
        DueTime.objects.filter(pk__in=shown.values("pk")).with_all().order_by("by", "place", "pk")
    )
    found = [_entry(item_of(row), row.due, row.number) for row in rows]
    return found + (_left_out(dues, shops, most) if most is not None else [])


def _left_out(dues, shops, most):
    """An entry for each day with more than `most`."""
    by_day = dues.order_by("by").values_list("by").annotate(so_many=Count("pk"))
    crowded = list(by_day.filter(so_many__gt=most))
    shop = shops.first() if crowded else None
    return [
        Entry(
            uid=uuid.uuid5(uuid.NAMESPACE_URL, f"more due on {day}"),
            kind="due",
            title=f"{so_many - most} more due",
            shop=shop,
            first=day,
            last=day,
            short=f"and {so_many - most:,} more",
            url=f"{reverse('shop:calendar')}?day={day.isoformat()}",
            of_many=True,
        )
        for day, so_many in crowded
    ]


def _far_ahead(user, first, last, now):
    """The same for days beyond those that stand in the table."""
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
