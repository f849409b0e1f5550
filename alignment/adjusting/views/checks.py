"""A saved check: every figure beside the readings it came from."""

from django.http import Http404
from django.shortcuts import render
from django.views.decorators.http import require_GET

from alignment.adjusting.moves import outcome_of
from alignment.sheets import formatting
from alignment.sheets.units import asked_unit, other_unit, unit_of_sheet, work_unit
from alignment.sweeps import result_text
from alignment.sweeps.answers import typed_together
from alignment.sweeps.comparison import beside, last_left
from alignment.sweeps.forms.initial import sag_checked_on
from alignment.sweeps.glance import shown_by
from alignment.sweeps.measuring import stored_sweeps, work_out
from alignment.sweeps.models import Check
from alignment.sweeps.pictures import check_figure, checked_place, marked, place_of, svg_response
from alignment.sweeps.preview import found_at
from alignment.sweeps.states import state_of_item
from shop.people.access import find, may_enter, works_at
from shop.snapshots import with_generation
from shop.snapshots.pages import standing_as_read
from shop.visits.models import Visit

SHOP = "item__station__machine__shop"
CHECKS = Check.objects.select_related(
    SHOP,
    "item__sheet",
    "visit",
    "made_by",
    "corrects__visit",
    "corrected_by__visit",
).prefetch_related("sweeps__readings")
# No more than says which check it is and how things stand at its shop.
SEEN = with_generation(Check.objects.select_related(SHOP).only(f"{SHOP}__time_zone"), SHOP)


@require_GET
def check(request, pk):
    """One check with its readings, its settings, what came out and what corrects it."""
    seen = find(SEEN, request.user, pk=pk)
    asked, own = asked_unit(request), request.user.length_unit
    standing = standing_as_read(seen, seen.item.station.machine.shop)
    context = standing.keep(lambda: _told(pk, asked, own), "check", pk, asked, own)
    correction = _correction(request, context["check"])
    visit = context["visit"]
    more = {
        "correction": correction,
        "may_enter": may_enter(request.user, visit),
        "not_signed_yet": not visit.is_signed and not works_at(request.user, visit),
    }
    return render(request, "alignment/check.html", context | more)


def _told(pk, asked, own):
    """asked: the unit asked for; without, it is that of the sheet, or the person's own."""
    found = CHECKS.get(pk=pk)
    unit = asked or unit_of_sheet(found.item.sheet) or own
    item, machine = found.item, found.item.station.machine
    # The page says whether the machine may run: asked for here, that stands with the rest.
    _ = machine.is_stopped
    sweeps = list(found.sweeps.all())
    typed = stored_sweeps(found)
    measured = work_out(found, *typed)
    left = last_left(item, found.visit, found.made_at)
    expected = left if found.phase == Check.Phase.AS_FOUND else None
    newest, state = state_of_item(item)
    place = marked(place_of(item, measured), state if newest and newest.pk == found.pk else None)
    figure = _figure(found, place, unit)
    return {
        "check": found,
        "state": state if newest and newest.pk == found.pk else None,
        "newest": newest if newest and newest.pk != found.pk else None,
        "item": item,
        "machine": machine,
        "machine_url": machine.get_absolute_url(),
        "visit": found.visit,
        "sweep": sweeps[0],
        "sag_on": sag_checked_on(sweeps[0]),
        "sets": _sets(sweeps, measured, unit),
        "figures": result_text.figures(found, measured, unit),
        "probability": result_text.probability(measured),
        "budget": result_text.budget_rows(measured, unit),
        "budget_sum": result_text.budget_sum(measured, unit),
        "hints": result_text.hints(
            found,
            measured,
            typed,
            unit,
            expected_um=expected and (expected.right_um, expected.up_um),
            day=found.made_at.astimezone(machine.shop.zone).date(),
        ),
        "move": formatting.move(item, measured, shown_by(found, measured, unit)),
        "unit": unit,
        "other_unit": other_unit(unit),
        "figured": f"?unit={unit}",
        "together": list(typed_together(found)),
        "limits": formatting.limits(found, unit),
        "beside": beside(item, found.visit, unit, found),
        "alt": figure.describe() if figure else "",
        "outcome": outcome_of(found),
    }


@require_GET
def check_picture(request, pk):
    """Where the axis sat, beside where it was found when this check is as left."""
    found = find(CHECKS, request.user, pk=pk)
    newest, state = state_of_item(found.item)
    place = marked(checked_place(found), state if newest and newest.pk == found.pk else None)
    unit = asked_unit(request) or work_unit(found.item.sheet, request.user)
    figure = _figure(found, place, unit)
    if figure is None:
        raise Http404("this check has no picture")
    return svg_response(figure, str(found), request.GET.get("palette"))


def _figure(check, place, unit):
    if check.phase == Check.Phase.AS_FOUND:
        return check_figure(check.item, unit, as_found=place)
    found = checked_place(found_at(check.visit, check.item))
    return check_figure(check.item, unit, as_found=found, as_left=place)


def _sets(sweeps, measured, unit):
    """(heading, rows) of each sweep a check rests on; a row for each reading."""
    fits = measured.fits or [None] * len(sweeps)
    return [
        {
            "heading": formatting.sweep_words(sweep, place if len(sweeps) > 1 else None),
            "fitted": fit is not None,
            "rows": _readings(sweep, fit, unit) if fit else _plain(sweep, unit),
        }
        for place, (sweep, fit) in enumerate(zip(sweeps, fits, strict=True), start=1)
    ]


def _readings(sweep, fit, unit):
    """A row for each reading round the clock: angle, as typed, counted as, fitted, left over."""
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
        "place": f"{reading.angle_deg:g}°",
        "typed": reading.typed,
        "unit": formatting.unit_beside(reading.typed, reading.unit),
        "counted": formatting.length(counted_um, unit),
        "fitted": formatting.length(counted_um - residual_um, unit),
        "residual": formatting.length(residual_um, unit, signed=True),
    }


def _plain(sweep, unit):
    """A row for each reading along a bar or on a flat, which count as they were typed."""
    return [
        {
            "place": formatting.place_words(reading),
            "typed": reading.typed,
            "unit": formatting.unit_beside(reading.typed, reading.unit),
            "counted": formatting.length(reading.value_um, unit),
        }
        for reading in sweep.readings.all()
    ]


def _correction(request, check):
    """Where this person corrects the check: {"url", "visit"} or None.

    A signed check is corrected at a visit that corrects its own; an open one is swept again.
    """
    corrected = hasattr(check, "corrected_by")
    if corrected or not works_at(request.user, check.visit):
        return None
    visit = check.visit
    if visit.is_signed:
        visit = check.visit.corrections.exclude(state=Visit.State.SIGNED).first()
    return {"visit": visit, "signed": check.visit.is_signed}
