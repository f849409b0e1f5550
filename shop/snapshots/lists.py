"""Rows of many shops that stand in a table: each shop's are worked out anew when somebody looks and
something has stirred there, or it is another day. So a page of a long list is one statement."""

from datetime import date
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import OuterRef, Q, Subquery
from django.utils import timezone

from shop.people.models import Shop
from shop.web.best_effort import if_it_can
from shop.web.request_memo import AsOf, is_reading, note_stale

from . import rule
from .keeping import MOST_ROWS, merge, with_generation
from .models import ChangeCounter, RefreshState

# So many shops are worked out in one transaction: enough to share the statements, few enough not to
# keep others from writing for long.
TOGETHER = 20


def refresh_stale(what, shops, work, *, reach=""):
    """See to it that the rows of a kind stand for the records of all `shops` (a queryset).

    One query while they do. Otherwise `work(shops)`, with a list of shops, writes their rows
    anew; it may leave those that are as they were. reach: what the rows rest on besides.

    For a page that only reads, rows that cannot be written now stay as they are, and the page says
    as of when (`note_stale`).
    """
    stale = [one for one in _as_told(what, reach, shops) if _is_stale(one)]

    def bring_up():
        for first in range(0, len(stale), TOGETHER):
            pks = [one.pk for one in stale[first : first + TOGETHER]]
            _work_out(what, reach, pks, work)

    if not stale or not is_reading():
        bring_up()
    elif not if_it_can(bring_up):
        for one in stale:
            note_stale(AsOf(one.told_at, ZoneInfo(one.time_zone)))


def _as_told(what, reach, shops):
    """Of each shop its generation, and the generation and the day its rows stand for; one query."""
    told = RefreshState.objects.filter(what=what, reach=reach, shop=OuterRef("pk"))
    found = with_generation(shops.order_by("pk"), "pk").annotate(
        told=Subquery(told.values("generation")[:1]),
        told_on=Subquery(told.values("day")[:1]),
        told_at=Subquery(told.values("at")[:1]),
        told_by=Subquery(told.values("rule")[:1]),
    )
    return found.values_list(
        "pk", "time_zone", "generation", "told", "told_on", "told_at", "told_by", named=True
    )


def _is_stale(one):
    told = one.told, one.told_on, one.told_by
    return told != (one.generation, _today(one), rule.VERSION)


def _today(one):
    return timezone.localdate(timezone=ZoneInfo(one.time_zone))


def _work_out(what, reach, pks, work):
    """Work out some shops' rows, unless somebody else did meanwhile.

    The generation is read first: what comes in while working makes the rows stale again.
    """
    with transaction.atomic():
        beginning = [
            RefreshState(what=what, reach=reach, shop_id=pk, generation=-1, day=date.min)
            for pk in pks
        ]
        RefreshState.objects.bulk_create(beginning, ignore_conflicts=True)
        locked = RefreshState.objects.select_for_update().order_by("pk")
        told = {one.shop_id: one for one in locked.filter(what=what, reach=reach, shop__in=pks)}
        now = _as_told(what, reach, Shop.objects.filter(pk__in=pks))
        stale = [one for one in now if _is_stale(one)]
        if not stale:
            return
        work(list(Shop.objects.filter(pk__in=[one.pk for one in stale])))
        for one in stale:
            told[one.pk].generation, told[one.pk].day = one.generation, _today(one)
            told[one.pk].at, told[one.pk].rule = timezone.now(), rule.VERSION
        done = [told[one.pk] for one in stale]
        RefreshState.objects.bulk_update(done, ["generation", "day", "at", "rule"])
    crowded = ChangeCounter.objects.filter(shop_id__in=pks)[MOST_ROWS:].exists()
    if crowded:
        merge(pks)


def write_rows(kept, shops, rows, key):
    """Make the rows of `shops`, of those `kept` (a queryset), what `rows` says; those that are as
    they were stay, and a machine that came from another shop leaves none there.

    key: the names of the fields that say which row is which.
    """
    model = kept.model
    names = [field.attname for field in model._meta.concrete_fields if not field.primary_key]

    def said(row):
        return tuple(getattr(row, name) for name in names)

    def which(row):
        return tuple(getattr(row, name) for name in key)

    theirs = Q(shop__in=shops) | Q(machine__in={row.machine_id for row in rows})
    there = {which(row): row for row in kept.filter(theirs)}
    wanted = {which(row): row for row in rows}
    gone = [
        row.pk
        for this, row in there.items()
        if this not in wanted or said(row) != said(wanted[this])
    ]
    model.objects.filter(pk__in=gone).delete()
    model.objects.bulk_create(
        [
            row
            for this, row in wanted.items()
            if this not in there or said(row) != said(there[this])
        ],
        batch_size=500,
    )
