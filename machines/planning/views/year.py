"""A shop's year on one page."""

from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from machines.history.years import asked_year, with_first_records
from machines.planning.tables import YearTable
from machines.planning.year import record_of, with_times
from machines.planning.year_bars import bars_of
from shop.people.access import DESK, demand, find, place_at
from shop.people.models import Shop
from shop.snapshots import with_generation
from shop.snapshots.pages import standing_as_read
from shop.web.listing import csv_of, wants_csv

SHOPS = with_generation(with_first_records(Shop.objects), "pk")


@require_safe
def year(request, pk):
    """What a shop planned, did and spent in each month of a year."""
    shop = find(SHOPS, request.user, pk=pk)
    demand(request.user, shop, DESK)
    number, before, after = asked_year(request, shop)
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
            "bars": bars_of(found),
            "before": before,
            "after": after,
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
