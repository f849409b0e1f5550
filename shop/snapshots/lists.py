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


def refresh_stale(what, shops, work, *, reach="", spread=None):
    """See to it that the rows of a kind stand for the records of all `shops` (a queryset).

    One query while they do. Otherwise `work(shops)`, with a list of shops, writes their rows
    anew; it may leave those that are as they were. reach: what the rows rest on besides.
    spread: where rows rest on other shops' records, a function (shops where something changed, what
    they lent as last told, shops that stand) that works out anew those rows of the latter that the
    former have to do with, and gives {shop's key: what it lends now}; all by keys.

    For a page that only reads, rows that cannot be written now stay as they are, and the page says
    as of when (`note_stale`).
    """
    told = list(_as_told(what, reach, shops))
    stale = [one for one in told if _is_stale(one)]
    begun = {one.pk: one.generation for one in stale}

    def bring_up():
        # First, so that shops are still stale where it is broken off.
        lends = _spread(what, reach, told, spread) if spread else {}
        for first in range(0, len(stale), TOGETHER):
            some = stale[first : first + TOGETHER]
            _work_out(what, reach, {one.pk: begun[one.pk] for one in some}, work, lends)

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


def _spread(what, reach, told, spread):
    """Have the rows that stand follow what changed at other shops; {shop's key: what it lends}."""
    changed = [one.pk for one in told if one.told != one.generation]
    standing = [one.pk for one in told if not _is_stale(one)]
    if not changed:
        return {}
    with transaction.atomic():
        states = RefreshState.objects.select_for_update().order_by("pk")
        states = list(states.filter(what=what, reach=reach))
        lent = {name for one in states if one.shop_id in changed for name in one.lends}
        return spread(changed, lent, standing)


def _work_out(what, reach, begun, work, lends):
    """Work out some shops' rows, unless somebody else did meanwhile.

    begun: {shop's key: its generation before anything was worked out}, for which the rows then
    stand: what comes in while working makes them stale again. lends: {shop's key: what others'
    rows read of it}.
    """
    with transaction.atomic():
        beginning = [
            RefreshState(what=what, reach=reach, shop_id=pk, generation=-1, day=date.min)
            for pk in begun
        ]
        RefreshState.objects.bulk_create(beginning, ignore_conflicts=True)
        locked = RefreshState.objects.select_for_update().order_by("pk")
        told = {one.shop_id: one for one in locked.filter(what=what, reach=reach, shop__in=begun)}
        now = _as_told(what, reach, Shop.objects.filter(pk__in=begun))
        stale = [one for one in now if _is_stale(one)]
        if not stale:
            return
        work(list(Shop.objects.filter(pk__in=[one.pk for one in stale])))
        for one in stale:
            state = told[one.pk]
            state.generation, state.day, state.rule = begun[one.pk], _today(one), rule.VERSION
            state.at, state.lends = timezone.now(), lends.get(one.pk, state.lends)
        done = [told[one.pk] for one in stale]
        RefreshState.objects.bulk_update(done, ["generation", "day", "at", "rule", "lends"])
    crowded = ChangeCounter.objects.filter(shop_id__in=begun)[MOST_ROWS:].exists()
    if crowded:
        merge(begun)


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
