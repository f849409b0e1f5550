"""The stations of a machine: listed, added, set up, put in another order, ended; and the drawings
they are chosen by."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from alignment.figures import SetupFigure
from alignment.register.blueprint import outline_of
from alignment.register.station_form import StationForm
from alignment.register.station_services import (
    begin_new_line,
    set_up_station,
    signed_checks_rest_on,
)
from alignment.sheets.stations import add_station, end_station, move_station
from alignment.sweeps.pictures import svg_response
from machines.kinds.drawing import describe
from machines.register.models import Machine, Station
from shop.people.access import DESK, demand, find, role_at
from shop.people.editing import editing, stamped
from shop.web.errors import Refused
from shop.web.idempotency import sent_once, with_id

MACHINES = Machine.objects.select_related("shop").with_stop_state()
STATIONS = Station.objects.select_related("machine__shop", "datum")
UP = "up"


@require_safe
def stations(request, pk):
    """A machine's stations in checking order, with its drawing."""
    machine = find(MACHINES, request.user, pk=pk)
    context = _at(machine) | {
        "stations": machine.stations.current().select_related("datum").prefetch_related("ways"),
        "ended": machine.stations.exclude(ended_on=None),
        "alt": describe(outline_of(machine)),
        "may_change": role_at(request.user, machine.shop) in DESK,
    }
    return render(request, "alignment/stations.html", context)


@sent_once
def new_station(request, pk):
    """Add a station."""
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, DESK)
    form = with_id(_form(request, machine))
    if form.is_valid() and _said(request, form, lambda: _added(machine, form)):
        return redirect("alignment:stations", machine.pk)
    return render(request, "alignment/station.html", _at(machine) | {"form": form})


def _added(machine, form):
    return f"Added the {add_station(machine, Station(**form.said()))}."


@editing
def edit_station(request, pk):
    """Change how a station is measured, or begin a new line where signed checks rest on it."""
    station = find(STATIONS, request.user, pk=pk)
    machine = station.machine
    demand(request.user, machine.shop, DESK)
    if station.ended_on is not None:
        messages.error(request, f"This line of the {station} was ended and no longer changes.")
        return redirect(machine)
    form = stamped(request, _form(request, machine, station), station)
    if form.is_valid() and _said(request, form, lambda: _set_up(station, form)):
        return redirect("alignment:stations", machine.pk)
    rests = signed_checks_rest_on(station)
    context = _at(machine) | {"station": station, "form": form, "rests": rests}
    return render(request, "alignment/station.html", context)


def _set_up(station, form):
    save = begin_new_line if form.needs_new_line else set_up_station
    how = " as a new line; the old one is ended" if form.needs_new_line else ""
    return f"Saved the {save(station, **form.said())}{how}."


def _form(request, machine, station=None):
    unit = request.user.length_unit
    return StationForm(request.POST or None, machine=machine, station=station, unit=unit)


def _said(request, form, save):
    """Whether it was saved, which `save` tells in words; a refusal is said on the form."""
    try:
        messages.success(request, save())
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    return True


@require_POST
def move(request, pk):
    """Let a station be checked earlier or later."""
    found = _station_changed(request, pk)
    try:
        move_station(found, up=request.POST.get("to") == UP)
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("alignment:stations", found.machine_id)


def end(request, pk):
    """Take a station off the machine, once asked; what was measured there is kept."""
    found = _station_changed(request, pk)
    if request.method != "POST":
        return render(
            request, "alignment/end_station.html", _at(found.machine) | {"station": found}
        )
    try:
        kept = end_station(found)
        ended = "ended; what was measured there is kept" if kept else "taken off the machine"
        messages.success(request, f"The {found} is {ended}.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("alignment:stations", found.machine_id)


def _station_changed(request, pk):
    found = find(STATIONS, request.user, pk=pk)
    demand(request.user, found.machine.shop, DESK)
    return found


def _at(machine):
    return {"machine": machine, "machine_url": machine.get_absolute_url()}


@require_safe
def setup_picture(request):
    """The drawing of the choice that `?choice=` names; the same for everybody who is signed in."""
    try:
        figure = SetupFigure(request.GET.get("choice", "in-datum"))
    except ValueError as error:
        raise Http404(str(error)) from error
    return svg_response(figure, "How a station is set up", request.GET.get("palette"))
