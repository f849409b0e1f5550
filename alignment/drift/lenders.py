"""Which machines lend to which, where a machine's own visits are few."""

from __future__ import annotations

from collections import defaultdict

from django.db.models import Case, Count, F, Q, When, Window
from django.db.models.functions import RowNumber

from machines.register.models import Machine

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
    asked = {(machine.shop_id, machine.model_name) for machine in machines if machine.model_name}
    if not asked:
        return {}
    shops = {shop for shop, _model in asked}
    across = among is not None
    # Of each shop asked about and of all others together the best, which holds the best of all.
    home = Case(When(shop__in=shops, then="shop"))
    best = (F("times").desc(), F("pk").asc())
    rows = (
        (among if across else Machine.objects.filter(shop__in=shops))
        .filter(model_name__in={model for _shop, model in asked})
        .values("pk", "shop", "model_name")
        .annotate(times=Count("visited", filter=Q(visited__visit__arrived_at__lte=until)))
        .filter(times__gte=FEWEST_VISITS)
        .annotate(rank=Window(RowNumber(), partition_by=[home, "model_name"], order_by=best))
        .filter(rank__lte=MOST_LENDERS)
        .order_by(*best)
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


def _first(own, others):
    return list(dict.fromkeys([*own, *others]))[:MOST_LENDERS]
