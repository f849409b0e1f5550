"""Addresses of the machines app."""

from django.urls import path

from .views import bearings, belts, drive, floor, incidents, recommendations

app_name = "machines"
urlpatterns = [
    path("machines/", floor.machines, name="machines"),
    path("machines/<int:pk>/", floor.machine, name="machine"),
    path("machines/<int:pk>/history/", floor.history, name="history"),
    path("machines/<int:pk>/stop/", floor.stop, name="stop"),
    path("machines/<int:pk>/release/", floor.release, name="release"),
    path("machines/<int:pk>/visits/new/", floor.open_visit, name="open_visit"),
    path("incidents/<int:pk>/", incidents.incident, name="incident"),
    path("incident-photos/<int:pk>/", incidents.photo, name="photo"),
    path("belts/<int:pk>/inspect/", belts.inspect_belt, name="inspect_belt"),
    path("belt-inspections/<int:pk>/", belts.inspection, name="inspection"),
    path(
        "belt-inspections/<int:pk>/teeth.svg", belts.inspection_picture, name="inspection_picture"
    ),
    path("recommendations/<int:pk>/", recommendations.recommendation, name="recommendation"),
    path("visited/<int:pk>/findings/", recommendations.findings, name="findings"),
    path("machines/<int:pk>/drive/", drive.drive, name="drive"),
    path("machines/<int:pk>/belts/new/", drive.new_belt, name="new_belt"),
    path("machines/<int:pk>/bearings/new/", drive.new_bearing, name="new_bearing"),
    path("machines/<int:pk>/assemblies/new/", drive.new_assembly, name="new_assembly"),
    path("belts/<int:pk>/", drive.belt, name="belt"),
    path("belts/<int:pk>/edit/", drive.edit_belt, name="edit_belt"),
    path("bearings/<int:pk>/", drive.bearing, name="bearing"),
    path("bearings/<int:pk>/inspect/", bearings.inspect, name="inspect_bearing"),
    path("bearings/<int:pk>/fit/", bearings.fit_bearing, name="fit_bearing"),
    path("belts/<int:pk>/fit/", bearings.fit_belt, name="fit_belt"),
    path("bearing-inspections/<int:pk>/", bearings.inspection, name="bearing_inspection"),
    path("belt-inspections/<int:pk>/photos/", belts.pin, name="pin_photo"),
    path("tooth-photos/<int:pk>/", belts.tooth_photo, name="tooth_photo"),
    path("machines/<int:pk>/recommend/", recommendations.recommend, name="recommend"),
    path("bearings/<int:pk>/edit/", drive.edit_bearing, name="edit_bearing"),
    path("assemblies/<int:pk>/", drive.assembly, name="assembly"),
    path("assemblies/<int:pk>/edit/", drive.edit_assembly, name="edit_assembly"),
    path("assemblies/<int:pk>/rebuild/", drive.rebuild, name="rebuild"),
]
