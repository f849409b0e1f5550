"""How a station is adjusted: what is on record, and entering it."""

from django import forms
from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from alignment.adjusting.models import AdjustingWay
from alignment.adjusting.services import drop_way, set_way
from alignment.adjusting.way_forms import FORMS, MoversForm, way_form
from alignment.sheets.movers import set_movers
from machines.register.models import Station
from shop.people.access import DESK, demand, find
from shop.people.editing import editing, stamped

STATIONS = Station.objects.select_related("machine__shop")


@require_safe
def ways(request, pk):
    """A station's ways of adjusting."""
    station = find(STATIONS, request.user, pk=pk)
    context = {
        "movers": _movers(station),
        "kinds": _kinds(station),
        "to_drop": _stamped(request, DropForm(auto_id=False), station),
    }
    return render(request, "alignment/ways.html", _context(station) | context)


def _movers(station):
    return [mover.axis for mover in station.movers.select_related("axis")]


def _kinds(station):
    """Each kind with the way on record, if there is one."""
    on_record = {way.kind: way for way in station.ways.all()}
    return [(kind, on_record.get(kind)) for kind in AdjustingWay.Kind]


@editing
def way(request, pk, kind):
    """Enter one way of adjusting; it takes the place of the same kind on record."""
    station = find(STATIONS, request.user, pk=pk)
    demand(request.user, station.machine.shop, DESK)
    if kind not in FORMS:
        raise Http404("no such way of adjusting")
    form = way_form(
        kind,
        request.POST or None,
        axes=station.machine.axes.all(),
        unit=request.user.length_unit,
    )
    _stamped(request, form, station)
    if form.is_valid():
        set_way(station, form.record)
        messages.success(request, f"Recorded: {form.record}.")
        return redirect("alignment:ways", station.pk)
    kind = AdjustingWay.Kind(kind)
    return render(request, "alignment/way.html", _context(station) | {"form": form, "kind": kind})


@editing
def movers(request, pk):
    """Say which axes move a station."""
    station = find(STATIONS.select_related("datum"), request.user, pk=pk)
    demand(request.user, station.machine.shop, DESK)
    named = {"axes": [mover.axis_id for mover in station.movers.all()]}
    form = MoversForm(request.POST or None, station=station, initial=named)
    stamped(request, form, station, parts=[station.movers.all()])
    if form.is_valid():
        set_movers(station, form.cleaned_data["axes"])
        messages.success(request, f"Recorded what moves the {station}.")
        return redirect("alignment:ways", station.pk)
    return render(request, "alignment/movers.html", _context(station) | {"form": form})


class DropForm(forms.Form):
    """Nothing but the version of what is taken off the record."""

    again = "Send it again to take it off all the same."


@require_POST
@editing
def drop(request, pk, kind):
    """Take one way of adjusting off the record."""
    station = find(STATIONS, request.user, pk=pk)
    demand(request.user, station.machine.shop, DESK)
    form = _stamped(request, DropForm(request.POST, auto_id=False), station)
    if form.is_valid():
        drop_way(station, kind)
        messages.success(request, "Taken off the record.")
        return redirect("alignment:ways", station.pk)
    context = {"kinds": _kinds(station), "to_drop": form, "movers": _movers(station)}
    return render(request, "alignment/ways.html", _context(station) | context)


def _stamped(request, form, station):
    return stamped(request, form, station, parts=[station.ways.all()])


def _context(station):
    machine = station.machine
    return {
        "station": station,
        "machine": machine,
        "machine_url": machine.get_absolute_url(),
    }
