"""An acceptance item over its visits: picture, table, CSV file."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET

from alignment.drift import pictures
from alignment.drift.pages import FORECAST_HEADINGS, Told, track_headings
from alignment.drift.standing import standing_drift
from alignment.sheets import formatting
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.pictures import series_figure, svg_response
from alignment.sweeps.series import checks_of, csv_rows, figures_by_item, write_csv
from alignment.sweeps.states import state_of_item
from alignment.sweeps.tables import CheckTable
from shop.people.access import find
from shop.web.listing import arrange

ITEMS = AcceptanceItem.objects.select_related("station__machine__shop", "sheet")


@require_GET
def item(request, pk):
    """One line of an acceptance sheet over the visits, and its drift while it is in force."""
    found = find(ITEMS, request.user, pk=pk)
    machine = found.station.machine
    unit = request.user.length_unit
    drift = standing_drift(found, request.user)
    track = drift and pictures.track_figure(drift, unit)
    figure = pictures.series_figure(drift, unit) if drift else _figure(found, unit)
    newest, state = _newest(found, drift)
    table = CheckTable(checks_of([found]), unit=unit, shop=machine.shop, newest=newest, state=state)
    return render(
        request,
        "alignment/item.html",
        {
            "item": found,
            "state": state,
            "machine": machine,
            "machine_url": machine.get_absolute_url(),
            "limits": formatting.limits(found, unit),
            "table": arrange(request, table),
            "alt": figure.describe(),
            "told": drift and Told(drift, unit),
            "track_alt": track and track.describe(),
            "forecast_headings": FORECAST_HEADINGS,
            "track_headings": track_headings(found),
        },
    )


@require_GET
def series_picture(request, pk):
    """An item's values over the visits, with its limits and the machine's incidents."""
    found = find(ITEMS, request.user, pk=pk)
    figure = _figure(found, request.user.length_unit)
    return svg_response(figure, str(found), request.GET.get("palette"))


@require_GET
def series_csv(request, pk):
    """Every standing check of an item as a CSV file."""
    found = find(ITEMS, request.user, pk=pk)
    name = f"{found.station.machine.number} {found}.csv"
    response = HttpResponse(
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": content_disposition_header(True, name)},
    )
    write_csv(csv_rows(found), response)
    return response


def _newest(item, drift):
    """(pk of the newest check, its `ShownState`); a drift knows both."""
    if drift:
        return drift.series.newest, drift.series.state
    newest, state = state_of_item(item)
    return newest and newest.pk, state


def _figure(item, unit):
    machine = item.station.machine
    visits = figures_by_item([item], machine.shop.zone).get(item.pk, [])
    incidents = machine.incidents.order_by("happened_at")
    return series_figure(item, visits, incidents, unit, machine.shop.zone)
