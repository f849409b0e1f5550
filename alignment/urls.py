"""Addresses of the alignment app."""

from django.urls import path

from .adjusting.views import cards, chain, checks, ways, what_moved
from .drift.views import drift, series
from .incidents import views
from .register.views import machines, sheets, stations
from .sweeps.views import indicators, pictures, sweeps, thread

AT_ITEM = "visits/<int:visit_pk>/items/<int:pk>"

app_name = "alignment"
urlpatterns = [
    path("machines/new/", machines.new_machine, name="new_machine"),
    path("machines/list-in/", machines.list_in, name="list_in"),
    path("machines/list-in/machines.csv", machines.list_template, name="list_template"),
    path("machines/<int:pk>/copy/", machines.copy_machine, name="copy_machine"),
    path("machines/<int:pk>/change/", machines.change_machine, name="change_machine"),
    path("machines/<int:pk>/keep-as-kind/", machines.keep_machine_as_kind, name="keep_as_kind"),
    path("machines/<int:pk>/picture.svg", machines.machine_picture, name="machine_picture"),
    path("machines/<int:pk>/drawn.svg", pictures.drawn_machine, name="drawn_machine"),
    path("machines/<int:pk>/stations/", stations.stations, name="stations"),
    path("machines/<int:pk>/stations/new/", stations.new_station, name="new_station"),
    path("stations/<int:pk>/move/", stations.move, name="move_station"),
    path("stations/<int:pk>/end/", stations.end, name="end_station"),
    path("machines/<int:pk>/incidents/new/", views.log_incident, name="log_incident"),
    path("machines/<int:pk>/sheet/", sheets.sheet, name="sheet"),
    path("machines/<int:pk>/sheets/", sheets.sheets, name="sheets"),
    path("machines/<int:pk>/sheets/new/", sheets.new_sheet, name="new_sheet"),
    path("machines/<int:pk>/sheets/bring-in/", sheets.import_sheet, name="import_sheet"),
    path("sheets/<int:pk>/", sheets.one_sheet, name="one_sheet"),
    path("sheets/<int:pk>/in-force/", sheets.put_sheet_in_force, name="put_sheet_in_force"),
    path("sheets/<int:pk>/scans/new/", sheets.new_scan, name="new_scan"),
    path("machines/<int:pk>/check-sheet/", sheets.blank_check_sheet, name="check_sheet"),
    path("sheet-scans/<int:pk>/", sheets.scan, name="sheet_scan"),
    path("machines/<int:pk>/chain/", chain.placed, name="placed"),
    path(f"{AT_ITEM}/sweep/", sweeps.sweep, name="sweep"),
    path(f"{AT_ITEM}/try/", sweeps.try_sweep, name="try_sweep"),
    path(f"{AT_ITEM}/picture.svg", sweeps.try_picture, name="try_picture"),
    path("visits/<int:visit_pk>/stations/<int:pk>/loop/", chain.loop, name="close_loop"),
    path("visits/<int:visit_pk>/stations/<int:pk>/adjust/", chain.adjust, name="adjust"),
    path(
        "visits/<int:visit_pk>/stations/<int:pk>/without-limit/",
        sweeps.sweep_without_limit,
        name="sweep_without_limit",
    ),
    path(
        "visits/<int:visit_pk>/machines/<int:pk>/what-moved/",
        what_moved.what_moved,
        name="what_moved",
    ),
    path("visits/<int:visit_pk>/skip/", thread.skip_step, name="skip"),
    path(f"{AT_ITEM}/bar/", thread.thread_bar, name="thread_bar"),
    path("visits/<int:visit_pk>/stations/<int:pk>/card/", cards.card, name="card"),
    path("stations/<int:pk>/edit/", stations.edit_station, name="edit_station"),
    path("station-setup.svg", stations.setup_picture, name="setup_picture"),
    path("stations/<int:pk>/ways/", ways.ways, name="ways"),
    path("stations/<int:pk>/movers/", ways.movers, name="movers"),
    path("stations/<int:pk>/ways/<slug:kind>/", ways.way, name="way"),
    path("stations/<int:pk>/ways/<slug:kind>/drop/", ways.drop, name="drop_way"),
    path("checks/<int:pk>/", checks.check, name="check"),
    path("checks/<int:pk>/picture.svg", checks.check_picture, name="check_picture"),
    path("indicators/", indicators.indicators, name="indicators"),
    path("indicators/new/", indicators.new_indicator, name="new_indicator"),
    path("indicators/<int:pk>/", indicators.indicator, name="indicator"),
    path("items/<int:pk>/", series.item, name="item"),
    path("items/<int:pk>/series.svg", series.series_picture, name="series_picture"),
    path("items/<int:pk>/series.csv", series.series_csv, name="series_csv"),
    path("items/<int:pk>/drift.svg", drift.drift_picture, name="drift_picture"),
    path("items/<int:pk>/track.svg", drift.track_picture, name="track_picture"),
    path("items/<int:pk>/forecast.csv", drift.forecast_csv, name="forecast_csv"),
    path("items/<int:pk>/moves.csv", drift.moves_csv, name="moves_csv"),
    path("drift/", drift.risk, name="risk"),
]
