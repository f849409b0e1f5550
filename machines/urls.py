"""Addresses of the machines app."""

from django.urls import path

from .views import ahead, belts, floor, incidents, meters, onsite, plans, recommendations

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
    path("machines/<int:pk>/meters/", meters.meters, name="meters"),
    path("machines/<int:pk>/meters/read/", meters.read, name="read_meter"),
    path("meter-readings/<int:pk>/leave-out/", meters.leave_reading_out, name="leave_reading_out"),
    path("meter-readings/bring-in/", meters.bring_in_readings, name="bring_in_readings"),
    path("due/", plans.what_is_due, name="due"),
    path("plans/", plans.plan_list, name="plans"),
    path("shops/<int:pk>/plans/new/", plans.new_plan, name="new_plan"),
    path("plans/<int:pk>/", plans.plan, name="plan"),
    path("plans/<int:pk>/change/", plans.change_plan, name="change_plan"),
    path("plans/<int:pk>/end/", plans.end_plan, name="end_plan"),
    path("plans/<int:pk>/machines/<int:machine_pk>/done/", plans.done, name="plan_done"),
    path("plans/<int:pk>/machines/<int:machine_pk>/skip/", plans.skip, name="plan_skip"),
    path("plan-closings/<int:pk>/take-back/", plans.take_back, name="take_back_closing"),
    path("due/together/", ahead.trips, name="trips"),
    path("shops/<int:pk>/proposals/new/", ahead.propose, name="propose"),
    path("shops/<int:pk>/visits/plan/", ahead.plan_visit, name="plan_visit"),
    path("proposals/<int:pk>/", ahead.proposal, name="proposal"),
    path("proposals/<int:pk>/answer/", ahead.answer, name="answer_proposal"),
]
