"""Adjustments of a station."""

from django.contrib import messages
from django.shortcuts import redirect, render

from alignment.axes import axis_names
from alignment.cautions import before_moving
from alignment.chainview import chain_at, moved_with
from alignment.forms import AdjustmentForm
from alignment.services import record_adjustment
from shop.errors import Refused

from .workplace import station_at, tell_it_is_signed, visit_worked_on


def adjust(request, visit_pk, pk):
    """Record that a station was moved, and say what that makes stale."""
    visit = visit_worked_on(request, visit_pk)
    station = station_at(visit, request, pk)
    if visit.is_signed and request.method != "POST":
        tell_it_is_signed(request, visit)
        return redirect(visit)
    form = AdjustmentForm(request.POST or None, unit=request.user.length_unit)
    if form.is_valid() and _recorded(request, visit, station, form):
        return redirect(f"{visit.get_absolute_url()}#station-{station.pk}")
    chain = chain_at(station.machine, visit)
    return render(
        request,
        "alignment/adjust.html",
        {
            "visit": visit,
            "station": station,
            "machine": station.machine,
            "machine_url": station.machine.get_absolute_url(),
            "form": form,
            "axes": axis_names(station, list(station.machine.axes.all())),
            "turns_stale": moved_with(chain, station.pk),
            "here": next(state for state in chain if state.station == station),
            "cautions": before_moving(station),
        },
    )


def _recorded(request, visit, station, form):
    """The adjustment; None when it was refused, which the form then says."""
    try:
        adjustment = record_adjustment(
            visit=visit, station=station, made_by=request.user, **form.account()
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    messages.success(
        request, f"Recorded. The {station} and what is measured from it must be measured again."
    )
    return adjustment
