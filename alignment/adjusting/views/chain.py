"""Adjustments of a station, and where a machine's stations stand."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from alignment.adjusting.forms import AdjustmentForm
from alignment.adjusting.moves import planned_move
from alignment.adjusting.positions import placed_chain
from alignment.adjusting.services import record_adjustment
from alignment.sheets.cautions import before_moving
from alignment.sheets.directions import movers_of, place_words, way_words
from alignment.sheets.loops import close_loop
from alignment.sheets.units import other_unit, unit_at
from alignment.sweeps.chain_view import chain_at, lost_by_moving, never_found
from alignment.sweeps.forms.loop import LoopForm
from alignment.sweeps.thread_bar import bar
from alignment.sweeps.views.thread import go_on
from alignment.sweeps.views.workplace import station_at, tell_it_is_signed, visit_worked_on
from machines.register.models import Machine
from shop.people.access import find
from shop.visits.models import Visit
from shop.web.errors import Refused
from shop.web.listing import whole_number


def adjust(request, visit_pk, pk):
    """Record that a station was moved, and say what that makes stale."""
    visit = visit_worked_on(request, visit_pk)
    station = station_at(visit, request, pk)
    if visit.is_signed and request.method != "POST":
        tell_it_is_signed(request, visit)
        return redirect(visit)
    unit = unit_at(request, station.machine)
    move = planned_move(visit, station, unit)
    form = AdjustmentForm(request.POST or None, unit=unit, ways=move.ways if move else ())
    if form.is_valid() and _recorded(request, visit, station, form, move):
        return go_on(request, visit, station.machine_id, station.pk)
    chain = chain_at(station.machine, visit)
    lost = lost_by_moving(chain, station)
    return render(
        request,
        "alignment/adjust.html",
        {
            "visit": visit,
            "station": station,
            "machine": station.machine,
            "machine_url": station.machine.get_absolute_url(),
            "form": form,
            "unit": unit,
            "other_unit": other_unit(unit),
            "move": move,
            "stands": move
            and move.stands
            and place_words(move.stands.front_um, move.stands.up_um, unit),
            "to_go": move
            and move.stands
            and way_words(-move.stands.front_um, -move.stands.up_um, unit, movers_of(station)),
            "lost": lost,
            "never_found": never_found(lost),
            "bar": bar(request, visit, station.machine, station.pk),
            "here": next(state for state in chain if state.station == station),
            "cautions": before_moving(station),
        },
    )


def _recorded(request, visit, station, form, move):
    """The adjustment; None when it was refused, which the form then says."""
    planned = move.as_planned(form.chosen_way) if move and form.chosen_way else {}
    try:
        adjustment = record_adjustment(
            visit=visit, station=station, made_by=request.user, **planned, **form.account()
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    messages.success(
        request, f"Recorded. The {station} and what is measured from it must be measured again."
    )
    return adjustment


def loop(request, visit_pk, pk):
    """Begin a sweep of a station from another one than its datum, which closes a loop."""
    visit = visit_worked_on(request, visit_pk)
    station = station_at(visit, request, pk)
    form = LoopForm(
        request.POST or None,
        station=station,
        unit=request.user.length_unit,
        initial={"plane_mm": station.plane_mm},
    )
    if form.is_valid():
        try:
            item = close_loop(station=station, **form.said())
            return redirect("alignment:sweep", visit.pk, item.pk)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    context = {"visit": visit, "station": station, "machine": station.machine, "form": form}
    return render(
        request,
        "alignment/loop.html",
        context | {"machine_url": station.machine.get_absolute_url()},
    )


@require_GET
def placed(request, pk):
    """Every station in the headstock's frame, and which one's move explains bad readings.

    From the newest checks, or with `?visit=` from those as found at that visit.
    """
    machine = find(Machine.objects.select_related("shop").with_stop_state(), request.user, pk=pk)
    visit = None
    if asked := request.GET.get("visit", ""):
        visits = Visit.objects.select_related("shop")
        visit = find(visits, request.user, pk=whole_number(asked))
    context = {
        "machine": machine,
        "machine_url": machine.get_absolute_url(),
        "visit": visit,
        "chain": placed_chain(machine, visit),
    }
    return render(request, "alignment/placed.html", context)
