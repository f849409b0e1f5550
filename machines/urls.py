"""Addresses of the machines app."""

from django.urls import path

from .views import belts, floor, incidents, onsite, recommendations

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
    path("visits/<int:pk>/machines/", onsite.add_machine, name="add_machine"),
    path("visits/<int:visit_pk>/belts/<int:pk>/off/", onsite.belt_off, name="belt_off"),
    path("visited/<int:pk>/photos/", onsite.photos, name="finding_photos"),
    path("finding-photos/<int:pk>/", onsite.finding_photo, name="finding_photo"),
    path(
        "finding-photos/<int:pk>/remove/", onsite.remove_finding_photo, name="remove_finding_photo"
    ),
    path("visited/<int:pk>/findings/", recommendations.findings, name="findings"),
]
