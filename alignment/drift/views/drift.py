"""Pages and files of drift: an item's pictures and rows, and the machines by risk."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET

from alignment.drift.pages import ahead_rows, move_rows
from alignment.drift.pictures import series_figure, track_figure
from alignment.drift.risk import counts_of, standing_risks
from alignment.drift.standing import standing_drift
from alignment.drift.tables import RiskTable
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.pictures import svg_response
from alignment.sweeps.series import write_csv
from shop.people.access import find
from shop.people.models import Shop
from shop.web.listing import arrange, csv_of, wants_csv

ITEMS = AcceptanceItem.objects.select_related("station__machine__shop", "sheet")


@require_GET
def risk(request):
    """Every machine in service that the person may see, by the chance that it is out today."""
    risks = standing_risks(Shop.objects.visible_to(request.user))
    table = RiskTable(risks.with_all().most_pressing_first())
    if wants_csv(request):
        return csv_of(table, "risk of drift")
    return render(
        request,
        "alignment/risk.html",
        {"table": arrange(request, table)} | counts_of(risks),
    )


@require_GET
def drift_picture(request, pk):
    """An item's figure over the visits with its limits, the incidents and the forecast."""
    drift = _drift(request, pk)
    figure = series_figure(drift, request.user.length_unit)
    return svg_response(figure, str(drift.item), request.GET.get("palette"))


@require_GET
def track_picture(request, pk):
    """The way of an item's axis over the visits inside its tolerance circle."""
    drift = _drift(request, pk)
    figure = track_figure(drift, request.user.length_unit)
    if figure is None:
        raise Http404("this figure has no direction")
    return svg_response(figure, str(drift.item), request.GET.get("palette"))


@require_GET
def forecast_csv(request, pk):
    """The forecast of an item as a CSV file."""
    drift = _drift(request, pk)
    return _csv(drift, "forecast", ahead_rows(drift))


@require_GET
def moves_csv(request, pk):
    """What moved from visit to visit as a CSV file."""
    drift = _drift(request, pk)
    return _csv(drift, "moves", move_rows(drift))


def _drift(request, pk):
    """The drift of an item of a sheet in force, else 404."""
    drift = standing_drift(find(ITEMS, request.user, pk=pk), request.user)
    if drift is None:
        raise Http404("its sheet is not in force")
    return drift


def _csv(drift, what, rows):
    name = f"{drift.series.machine.number} {drift.item}, {what}.csv"
    response = HttpResponse(
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": content_disposition_header(True, name)},
    )
    write_csv(rows, response)
    return response
