"""What is due as it stands in a table, so that a page of it takes the same time for any number of
machines; worked out anew for a shop once something changed there, and every day."""

from datetime import date, timedelta

from django.utils import timezone

from machines.engineering.due import BUCKETS
from machines.register.models import Machine
from shop.people.models import Shop
from shop.snapshots.lists import refresh_stale, write_rows

from .board import DueItem, due_items
from .models import DueTime

WHAT = "due"
# So far ahead the times that follow the next one are kept: a month's sheet, and a feed of a year.
DAYS_AHEAD = 400


def standing_dues(shops):
    """The `DueTime`s of shops (a queryset), brought up to date; one query while nothing changes."""
    refresh_stale(WHAT, shops, _work_out)
    return DueTime.objects.filter(shop__in=shops.order_by().values("pk"))


def work_out_all():
    """Bring what is due up to date at every shop."""
    standing_dues(Shop.objects.all())


def items_of(dues):
    """The `DueItem`s of `DueTime`s (a queryset, or a slice of one), most pressing first; one query.

    Which rows those are is found before anything is joined to them.
    """
    rows = DueTime.objects.filter(pk__in=dues.values("pk")).with_all()
    return [item_of(row) for row in rows.most_pressing_first()]


def item_of(row):
    """The `DueItem` a row stands for; its relations are loaded already."""
    return DueItem(
        plan=row.plan,
        machine=row.machine,
        due=row.due,
        record=None,
        today=row.machine.shop.today,
        closing=row.closing,
        visit=row.visit,
    )


def _work_out(shops):
    """Write the times due at some shops: the next of each plan, and those that follow it."""
    now = timezone.now()
    rows = []
    for item in due_items(Machine.objects.filter(shop__in=shops), now=now):
        last = item.today + timedelta(days=DAYS_AHEAD)
        following = item.until(last, now)[1:]
        for number, due in enumerate([item.due, *following]):
            rows.append(_row(item, number, due))
    write_rows(DueTime.objects.all(), shops, rows, ("machine_id", "plan_id", "number"))


def _row(item, number, due):
    return DueTime(
        shop=item.machine.shop,
        plan=item.plan,
        machine=item.machine,
        number=number,
        by=due.on or date.max,
        rank=BUCKETS.index(due.bucket(item.today)),
        place=f"{item.machine.shop.name}\t{item.machine.number}",
        kind=due.kind,
        reason=due.reason,
        earliest=due.earliest,
        latest=due.latest,
        passed=due.passed,
        closing=item.closing,
        visit=item.visit,
    )
