"""Where somebody works: a visit they may work at, and what belongs to it."""

from django.contrib import messages

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.chain_view import with_corrected
from alignment.sweeps.models import Check
from machines.register.models import Station
from shop.people.access import demand_work, find
from shop.visits.models import Visit
from shop.web.listing import whole_number

ITEMS = AcceptanceItem.objects.select_related("station__machine__shop", "station__datum", "sheet")


def visit_worked_on(request, pk):
    """The visit, for somebody who may work at it."""
    visit = find(Visit.objects.select_related("shop", "corrects"), request.user, pk=pk)
    demand_work(request.user, visit)
    return visit


def item_at(visit, request, pk):
    """An acceptance item of a machine in the shop that is visited."""
    return find(ITEMS, request.user, pk=pk, station__machine__shop=visit.shop)


def station_at(visit, request, pk):
    """A station of a machine in the shop that is visited."""
    stations = Station.objects.select_related("machine__shop", "datum")
    return find(stations, request.user, pk=pk, machine__shop=visit.shop)


def corrected_check(visit, request, item):
    """The check that `?corrects=` names, of this visit or of one that it corrects; None without."""
    pk = request.GET.get("corrects", "")
    if not pk:
        return None
    checks = Check.objects.select_related("item").prefetch_related("sweeps__readings")
    return find(
        checks, request.user, pk=whole_number(pk), item=item, visit__in=with_corrected(visit)
    )


def tell_it_is_signed(request, visit):
    """Say why nothing can be entered at a signed visit."""
    messages.error(
        request,
        f"Visit {visit.number} is signed and no longer changes. Enter a correction instead.",
    )
