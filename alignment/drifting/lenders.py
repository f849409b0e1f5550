"""Which machines lend to which, where a machine's own visits are few."""

from __future__ import annotations

from collections import defaultdict

from django.db.models import Count, F, OuterRef, Q, Subquery, Window
from django.db.models.functions import RowNumber

from machines.models import Machine, VisitedMachine

# More would lend next to nothing. Simulated with machines of four visits: the 95 % interval of a
# rate that rests on others alone narrows by a quarter to a half from five others to forty, but from
# forty to 160 by 3 % where machines differ as much as they wander and by an eighth where they are
# all but alike; the error itself falls by less than 4 %. So a page need not grow with the fleet.
MOST_LENDERS = 40
# From one visit nobody sees a move.
FEWEST_VISITS = 2


def lenders_of(machines, among, until):
    """(shop pk, model) of machines (a list) to the pks of the machines that lend to it, one query.

    At most `MOST_LENDERS`: the shop's own first, then those visited most often, then the oldest
    on record. ``among``: a queryset of those that may; left out, the shop's own alone. A machine
    without a model is like no other.
    """
    shops = {machine.shop_id for machine in machines}
    asked = {(machine.shop_id, machine.model_name) for machine in machines if machine.model_name}
    if not asked:
        return {}
    across = among is not None
    wanted = Q(rank_in_shop__lte=MOST_LENDERS, shop__in=shops)
    if across:
        wanted |= Q(rank_of_model__lte=MOST_LENDERS)
    else:
        among = Machine.objects.filter(shop__in=shops)
    best = (F("times").desc(), F("pk").asc())
    rows = (
        among.filter(model_name__in={model for _shop, model in asked})
        .annotate(times=Subquery(_times_visited(until)))
        .filter(times__gte=FEWEST_VISITS)
        .annotate(
            rank_in_shop=Window(RowNumber(), partition_by=["shop", "model_name"], order_by=best),
            rank_of_model=Window(RowNumber(), partition_by=["model_name"], order_by=best),
        )
        .filter(wanted)
        .order_by("rank_of_model")
        .values_list("pk", "shop", "model_name")
    )
    of_model, of_shop = defaultdict(list), defaultdict(list)
    for pk, shop, model in rows:
        of_model[model].append(pk)
        of_shop[shop, model].append(pk)
    return {
        (shop, model): _first(of_shop[shop, model], of_model[model] if across else ())
        for shop, model in asked
    }


def _times_visited(until):
    begun = VisitedMachine.objects.filter(machine=OuterRef("pk"), visit__arrived_at__lte=until)
    return begun.order_by().values("machine").annotate(times=Count("pk")).values("times")


def _first(own, others):
    return list(dict.fromkeys([*own, *others]))[:MOST_LENDERS]
