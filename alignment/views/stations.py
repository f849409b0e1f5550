"""How a station is measured: its page, and the drawings it is chosen by."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from alignment.figures import SetupFigure
from alignment.forms import StationForm
from alignment.models import Station
from alignment.pictures import svg_response
from alignment.setup import signed_checks_rest_on
from alignment.station_services import begin_new_line, set_up_station
from shop.access import DESK, demand, find
from shop.editing import editing, stamped
from shop.errors import Refused

STATIONS = Station.objects.select_related("machine__shop", "datum")


@editing
def edit_station(request, pk):
    """Change how a station is measured, or begin a new line where signed checks rest on it."""
    station = find(STATIONS, request.user, pk=pk)
    machine = station.machine
    demand(request.user, machine.shop, DESK)
    if station.ended_on is not None:
        messages.error(request, f"This line of the {station} was ended and no longer changes.")
        return redirect(machine)
    form = StationForm(
        request.POST or None, machine=machine, station=station, unit=request.user.length_unit
    )
    stamped(request, form, station)
    if form.is_valid() and _saved(request, station, form):
        return redirect(machine)
    context = {
        "station": station,
        "machine": machine,
        "machine_url": machine.get_absolute_url(),
        "form": form,
        "rests": signed_checks_rest_on(station),
    }
    return render(request, "alignment/station.html", context)


def _saved(request, station, form):
    """Whether it was saved; a refusal is said on the form."""
    begins = form.needs_new_line
    save = begin_new_line if begins else set_up_station
    try:
        saved = save(station, **form.said())
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    how = " as a new line; the old one is ended" if begins else ""
    messages.success(request, f"Saved the {saved}{how}.")
    return True


@require_safe
def setup_picture(request):
    """The drawing of the choice that `?choice=` names; the same for everybody who is signed in."""
    try:
        figure = SetupFigure(request.GET.get("choice", "in-datum"))
    except ValueError as error:
        raise Http404(str(error)) from error
    return svg_response(figure, "How a station is set up", request.GET.get("palette"))
