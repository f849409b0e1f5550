"""A saved check: every figure beside the readings it came from."""

from django.shortcuts import render
from django.views.decorators.http import require_GET

from alignment import shown
from alignment.forms.fresh import sag_checked_on
from alignment.models import Check
from alignment.moves import outcome_of
from alignment.pictures import checked_position, svg_response, sweep_figure
from alignment.services import fit_of, stored_sweep
from alignment.trials import found_at
from shop.access import find, role_at
from shop.models import Role, Visit

CHECKS = Check.objects.select_related(
    "item__station__machine__shop",
    "item__sheet",
    "visit",
    "made_by",
    "corrects__visit",
    "corrected_by__visit",
).prefetch_related("sweeps__readings", "item__station__machine__axes")


@require_GET
def check(request, pk):
    """One check with its readings, its settings, what came out and what corrects it."""
    found = find(CHECKS, request.user, pk=pk)
    machine = found.item.station.machine
    unit = request.user.length_unit
    axes = list(machine.axes.all())
    sweep = found.sweeps.all()[0]
    fit = fit_of(stored_sweep(sweep))
    return render(
        request,
        "alignment/check.html",
        {
            "check": found,
            "item": found.item,
            "machine": machine,
            "machine_url": machine.get_absolute_url(),
            "visit": found.visit,
            "sweep": sweep,
            "sag_on": sag_checked_on(sweep),
            "rows": _readings(sweep, fit, unit),
            "figures": shown.figures(found.item, fit, found.value_um, found.u_um, unit, axes),
            "hints": shown.hints(found.item, fit, float(sweep.reading_u_um)),
            "move": shown.move(found.item, fit, unit, axes),
            "limits": shown.limits(found, unit),
            "alt": _figure(found, unit, axes).describe(),
            "correction": _correction(request, found),
            "outcome": outcome_of(found),
        },
    )


@require_GET
def check_picture(request, pk):
    """Where the axis sat, beside where it was found when this check is as left."""
    found = find(CHECKS, request.user, pk=pk)
    axes = list(found.item.station.machine.axes.all())
    figure = _figure(found, request.user.length_unit, axes)
    return svg_response(figure, str(found), request.GET.get("palette"))


def _figure(check, unit, axes):
    position = checked_position(check)
    if check.phase == Check.Phase.AS_FOUND:
        return sweep_figure(check.item, unit, as_found=position, axes=axes)
    found = checked_position(found_at(check.visit, check.item))
    return sweep_figure(check.item, unit, as_found=found, as_left=position, axes=axes)


def _readings(sweep, fit, unit):
    """A row for each reading: angle, as typed, counted as, fitted, left over."""
    worked_out = {
        round(float(angle), 6): (float(counted), float(residual))
        for angle, counted, residual in zip(
            fit.angles_deg, fit.corrected_um, fit.residuals_um, strict=True
        )
    }
    return [
        _reading(reading, *worked_out[round(reading.angle_deg % 360, 6)], unit)
        for reading in sweep.readings.all()
    ]


def _reading(reading, counted_um, residual_um, unit):
    return {
        "angle": f"{reading.angle_deg:g}°",
        "typed": reading.typed,
        "unit": shown.unit_beside(reading.typed, reading.unit),
        "counted": shown.length(counted_um, unit),
        "fitted": shown.length(counted_um - residual_um, unit),
        "residual": shown.length(residual_um, unit, signed=True),
    }


def _correction(request, check):
    """Where this person corrects the check: {"url", "visit"} or None.

    A signed check is corrected at a visit that corrects its own; an open one is swept again.
    """
    corrected = hasattr(check, "corrected_by")
    if corrected or role_at(request.user, check.item.station.machine.shop) != Role.CONTRACTOR:
        return None
    visit = check.visit
    if visit.is_signed:
        visit = check.visit.corrections.exclude(state=Visit.State.SIGNED).first()
    return {"visit": visit, "signed": check.visit.is_signed}
