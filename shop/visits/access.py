"""The visit that an address names, for those who work at it, and whom its money concerns."""

from shop.people.access import demand_work, find
from shop.people.models import billed_to
from shop.web.listing import whole_number

from .models import Visit


def visit_named(request, shop):
    """The visit to `shop` that `?visit=` names, for somebody who works at it; None without one.

    404 for one that is not there, 403 for another firm's.
    """
    asked = request.GET.get("visit")
    if not asked:
        return None
    visits = Visit.objects.select_related("shop").filter(shop=shop)
    visit = find(visits, request.user, pk=whole_number(asked))
    demand_work(request.user, visit)
    return visit


def concerns_money(user, visit):
    """Whether the money of a visit concerns the person."""
    return Visit.objects.filter(billed_to(user), pk=visit.pk).exists()
