"""How long machines stood still and ran, by month and cause: of one machine, and of a shop."""

from datetime import date

from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from machines.history.downtimes import (
    causes_of,
    csv_rows,
    month_rows,
    records_of,
    times_in,
    total_of,
)
from machines.history.strips import strips_of
from machines.history.tables import DowntimeTable
from machines.history.years import asked_year, with_first_records
from machines.register.models import Machine
from machines.register.views.floor import MACHINES
from shop.people.access import DESK, demand, find
from shop.people.models import Shop
from shop.web.listing import csv_of, wants_csv

MONTHS = 12


@require_safe
def machine(request, pk):
    """What became of one machine's time in each month of a year."""
    found = find(MACHINES, request.user, pk=pk)
    machines = Machine.objects.filter(pk=found.pk)
    name = f"downtime-{found.number}"
    shop = with_first_records(Shop.objects).get(pk=found.shop_id)
    return _page(request, machines, shop, name, {"machine": found, "of": found})


@require_safe
def shop(request, pk):
    """What became of the time of all a shop's machines in each month of a year."""
    found = find(with_first_records(Shop.objects), request.user, pk=pk)
    demand(request.user, found, DESK)
    machines = Machine.objects.filter(shop=found)
    return _page(request, machines, found, "downtime", {"of": found, "several": True})


def _page(request, machines, shop, name, context):
    year, before, after = asked_year(request, shop)
    first, now = date(year, 1, 1), timezone.now()
    records = records_of(machines, first, MONTHS)
    rows = times_in(records, first, MONTHS, now=now)
    if wants_csv(request):
        return csv_of(DowntimeTable(csv_rows(rows)), f"{name}-{year}")
    months = month_rows(rows)
    return render(
        request,
        "machines/downtime.html",
        context
        | {
            "shop": shop,
            "year": year,
            "before": before,
            "after": after,
            "rows": rows,
            "strips": strips_of(records, first, MONTHS, now),
            "causes": causes_of(rows),
            "months": months,
            "total": total_of(months),
            "on_record": any(row.since for row in rows),
        },
    )
