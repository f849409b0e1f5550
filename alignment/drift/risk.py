"""Which machine is most likely out today, and when plans by the risk of drift fall due."""

import hashlib
import math
from collections import defaultdict
from datetime import date
from itertools import groupby

from django.db.models import Count, Q

from machines.register.models import Machine
from shop.people.models import Membership, Shop
from shop.snapshots.lists import refresh_stale, write_rows
from shop.snapshots.models import RefreshState

from .estimates import drifts
from .models import MachineRisk
from .words import chance_words

WHAT = "risk"


def why(risk):
    """Why a `MachineRisk` stands where it stands, in a phrase."""
    if risk.item is None:
        return "no item has a forecast"
    if risk.state == MachineRisk.State.LOOSE:
        return risk.words
    return f"{chance_words(risk.chance)} chance that it is out"


def standing_risks(shops):
    """The `MachineRisk`s of the machines in service at shops (a queryset), brought up to date.

    The machines of all the shops may lend. Two queries while nothing changes; otherwise those of
    a shop where something has are worked out anew with those of other shops that may borrow from
    it, so a row says what the pages of the machine say; and every day all of them.
    """
    reach = _reach(shops.order_by("pk").values_list("pk", flat=True))
    lenders = Machine.objects.filter(shop__in=shops.order_by().values("pk"))
    refresh_stale(
        WHAT,
        shops,
        lambda stale: _work_out(stale, reach, lenders),
        reach=reach,
        spread=lambda *shops: _spread(reach, lenders, *shops),
    )
    return _of(reach)


def work_out_all():
    """Bring the risks up to date for all who belong to a shop today; what nobody sees any more
    goes."""
    shops_of = defaultdict(set)
    current = Membership.objects.current().filter(user__is_active=True)
    for user, shop in current.values_list("user", "shop"):
        shops_of[user].add(shop)
    seen = {frozenset(shops) for shops in shops_of.values()}
    for shops in seen:
        standing_risks(Shop.objects.filter(pk__in=shops))
    reaches = [_reach(sorted(shops)) for shops in seen]
    MachineRisk.objects.exclude(reach__in=reaches).delete()
    RefreshState.objects.filter(what=WHAT).exclude(reach__in=reaches).delete()


def _reach(pks):
    """What stands for a set of shops, from their keys in order."""
    return hashlib.sha256(",".join(map(str, pks)).encode()).hexdigest()


def counts_of(risks):
    """How many machines there are, are to be checked now, have a forecast and have none; one
    query."""
    return risks.aggregate(
        count=Count("pk"),
        pressing=Count("pk", filter=Q(pressing=True)),
        known=Count("pk", filter=Q(chance__isnull=False)),
        unknown=Count("pk", filter=Q(chance__isnull=True)),
    )


def _work_out(shops, reach, lenders):
    machines = Machine.objects.filter(shop__in=shops)
    write_rows(_of(reach), shops, _rows(machines, shops, reach, lenders), ("machine_id",))


def _spread(reach, lenders, changed, lent, standing):
    """Work out anew the machines at shops that stand whose models are, or were, at those changed;
    {changed shop's key: the models of its machines}."""
    models = defaultdict(list)
    known = Machine.objects.filter(shop__in=changed).exclude(model_name="").order_by("model_name")
    for shop, model in known.values_list("shop", "model_name").distinct():
        models[shop].append(model)
    names = set(lent).union(*models.values())
    borrowers = Machine.objects.filter(shop__in=standing, model_name__in=names)
    if standing and names:
        shops = Shop.objects.filter(pk__in=borrowers.values("shop"))
        rows = _rows(borrowers, shops, reach, lenders)
        write_rows(_of(reach), [], rows, ("machine_id",))
    return {pk: models[pk] for pk in changed}


def _of(reach):
    return MachineRisk.objects.filter(reach=reach)


def _rows(machines, shops, reach, lenders):
    """The `MachineRisk`s of those of the machines (a queryset) that are in service at shops."""
    rows = []
    for day, of_day in groupby(sorted(shops, key=_today), _today):
        own = machines.filter(shop__in=list(of_day)).in_service(day).select_related("shop")
        own = list(own)
        found = drifts(own, lenders=lenders)
        rows += [_risk_of(machine, found[machine.pk], reach) for machine in own]
    return rows


def _today(shop):
    return shop.today


def _risk_of(machine, items, reach):
    """Items are taken as independent, which makes the chance somewhat large where one datum moves
    several."""
    known = [one for one in items if one.chance is not None]
    loose = [one for one in items if one.series.last and _is_loose(one)]
    driver = max(loose, key=_weight, default=None) or max(known, key=_weight, default=None)
    state = MachineRisk.State
    checks = [one.next_check for one in items if one.next_check is not None]
    days = [one.series.last.day for one in items if one.series.last]
    chance = 1 - math.prod(1 - one.chance for one in known) if known else None
    by = min(checks, default=date.max)
    return MachineRisk(
        reach=reach,
        shop=machine.shop,
        machine=machine,
        place=f"{machine.shop.name}\t{machine.number}",
        state=state.LOOSE if loose else state.FORECAST if known else state.UNKNOWN,
        chance=chance,
        weight=chance or 0.0,
        item=driver and driver.item,
        words=driver.series.state.words if loose else "",
        pressing=by <= _today(machine.shop),
        by=by,
        last_measured=max(days, default=None),
        items=len(items),
        unknown=len(items) - len(known),
    )


def _is_loose(item):
    """Knocked, or moved and not measured, since it was last known where it stands."""
    return not item.position_known


def _weight(item):
    return item.chance or 0.0


def risk_dates(machines, risk):
    """Machine pk to the day the chance that an item is out reaches ``risk``, or None; for
    `PLANNING_SOURCES`.

    A knock since the last measurement, or a move that was not measured, counts from its day. Each
    machine borrows within its shop alone, so that a plan is due on one day whoever looks.
    """
    found = drifts(machines, asked_risk=risk)
    return {
        machine.pk: min(filter(None, map(_day, found[machine.pk])), default=None)
        for machine in machines
    }


def _day(item):
    series = item.series
    if series.last is None:
        return None
    if item.disturbed:
        return series.since[0].happened_at.astimezone(series.machine.shop.zone).date()
    return item.asked_day if item.position_known else series.last.day
