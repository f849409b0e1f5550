"""Addresses of the alignment app."""

from django.urls import path

from .views import chain, checks, incidents, series, sweeps, ways

AT_ITEM = "visits/<int:visit_pk>/items/<int:pk>"

app_name = "alignment"
urlpatterns = [
    path("machines/<int:pk>/incidents/new/", incidents.log_incident, name="log_incident"),
    path("machines/<int:pk>/sheet/", chain.sheet, name="sheet"),
    path("machines/<int:pk>/chain/", chain.placed, name="placed"),
    path(f"{AT_ITEM}/sweep/", sweeps.sweep, name="sweep"),
    path(f"{AT_ITEM}/try/", sweeps.try_sweep, name="try_sweep"),
    path(f"{AT_ITEM}/picture.svg", sweeps.try_picture, name="try_picture"),
    path("visits/<int:visit_pk>/stations/<int:pk>/adjust/", chain.adjust, name="adjust"),
    path("stations/<int:pk>/ways/", ways.ways, name="ways"),
    path("stations/<int:pk>/ways/<slug:kind>/", ways.way, name="way"),
    path("stations/<int:pk>/ways/<slug:kind>/drop/", ways.drop, name="drop_way"),
    path("checks/<int:pk>/", checks.check, name="check"),
    path("checks/<int:pk>/picture.svg", checks.check_picture, name="check_picture"),
    path("items/<int:pk>/", series.item, name="item"),
    path("items/<int:pk>/series.svg", series.series_picture, name="series_picture"),
    path("items/<int:pk>/series.csv", series.series_csv, name="series_csv"),
]
