"""The stations of a machine: added, changed, put in another order, ended."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from alignment.forms.stations import StationForm
from alignment.models import Station
from alignment.register import stations as services
from alignment.register.blueprint import kind_of
from machines.kinds.drawing import describe
from machines.models import Machine
from shop.access import DESK, demand, find, role_at
from shop.editing import editing, stamped
from shop.errors import Refused
from shop.sent import sent_once, with_id

MACHINES = Machine.objects.select_related("shop").with_standing()
STATIONS = Station.objects.select_related("machine__shop", "datum")
UP = "up"


@require_safe
def stations(request, pk):
    """A machine's stations in checking order, with its drawing."""
    machine = find(MACHINES, request.user, pk=pk)
    context = _at(machine) | {
        "stations": machine.stations.current().select_related("datum").prefetch_related("ways"),
        "ended": machine.stations.exclude(ended_on=None),
        "alt": describe(kind_of(machine)),
        "may_change": role_at(request.user, machine.shop) in DESK,
    }
    return render(request, "alignment/stations.html", context)


@sent_once
def new_station(request, pk):
    """Add a station."""
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, DESK)
    form = with_id(_form(request, machine, None))
    if form.is_valid() and _saved(request, form, services.add_station, machine, form.instance,
                                  datum=form.cleaned_data["datum"]):  # fmt: skip
        return redirect("alignment:stations", machine.pk)
    context = _at(machine) | {"form": form, "station": None}
    return render(request, "alignment/station.html", context)


@editing
def station(request, pk):
    """Change a station; what was measured there stays as it was measured."""
    found = _station_changed(request, pk)
    form = stamped(request, _form(request, found.machine, found), found)
    if form.is_valid() and _saved(request, form, services.change_station, form.instance):
        return redirect("alignment:stations", found.machine_id)
    context = _at(found.machine) | {"form": form, "station": found}
    return render(request, "alignment/station.html", context)


def _form(request, machine, found):
    unit = request.user.length_unit
    return StationForm(request.POST or None, instance=found, machine=machine, unit=unit)


def _saved(request, form, service, *args, **kwargs):
    """The station; None when it was refused, which the form then says."""
    try:
        saved = service(*args, **kwargs)
    except Refused as refusal:
        form.add_error("datum", str(refusal))
        return None
    messages.success(request, f"Saved: {saved}.")
    return saved


@require_POST
def move(request, pk):
    """Let a station be checked earlier or later."""
    found = _station_changed(request, pk)
    try:
        services.move_station(found, up=request.POST.get("to") == UP)
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("alignment:stations", found.machine_id)


@require_POST
def end(request, pk):
    """Take a station off the machine; what was measured there is kept."""
    found = _station_changed(request, pk)
    try:
        kept = services.end_station(found)
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
