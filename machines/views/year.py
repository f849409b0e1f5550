"""A shop's year on one page."""

from django.http import Http404
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from shop.access import DESK, demand, find, place_at
from shop.listing import csv_of, wants_csv, whole_number
from shop.models import Shop
from shop.standing import with_generation
from shop.standing.pages import standing_as_read

from ..planning.tables import YearTable
from ..planning.year import record_of, with_times

EARLIEST, LATEST = 1990, 2100
SHOPS = with_generation(Shop.objects, "pk")


def asked_year(request, shop):
    """The year in the address, this one in the shop's zone without; Http404 for what is none."""
    asked = request.GET.get("year") or str(timezone.localdate(timezone=shop.zone).year)
    number = whole_number(asked)
    if number is None or not EARLIEST <= number <= LATEST:
        raise Http404("no such year")
    return number


@require_safe
def year(request, pk):
    """What a shop planned, did and spent in each month of a year."""
    shop = find(SHOPS, request.user, pk=pk)
    demand(request.user, shop, DESK)
    number = asked_year(request, shop)
    found = _year_now(shop, number, request.user)
    if wants_csv(request):
        return csv_of(YearTable(found.months), f"year-{number}")
    return render(
        request,
        "machines/year.html",
        {
            "shop": shop,
            "number": number,
            "year": found,
            "before": number - 1,
            "after": number + 1,
            "stood": [row for row in found.downtimes if row.times.stopped],
        },
    )


def _year_now(shop, number, viewer):
    """The year up to now; what it is counted from stands until something changes."""
    now, place = timezone.now(), place_at(viewer, shop.pk)
    counted, records = standing_as_read(shop, shop).keep(
        lambda: record_of(shop, number, viewer, now), "year", number, place.role, place.firm_id
    )
    return with_times(counted, records, now)
