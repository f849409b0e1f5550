"""Pages on which a bearing is looked at, or a belt or bearing is noted as new."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from machines.drive.bearing_looks import findings_of, look_before
from machines.drive.forms import BearingInspectionForm, FitForm
from machines.drive.models import Bearing, BearingInspection, Belt, Removal
from machines.drive.services import fit, inspect_bearing
from shop.people.access import ANYONE, DESK, demand, demand_work, find, may_enter, works_at
from shop.visits.access import visit_named
from shop.web.errors import Refused
from shop.web.listing import whole_number

BEARINGS = Bearing.objects.select_related("machine__shop", "part", "assembly")
BELTS = Belt.objects.select_related("machine__shop", "part")
INSPECTIONS = BearingInspection.objects.select_related(
    "bearing__machine__shop", "visit__shop", "made_by", "corrects", "corrected_by"
)


def inspect(request, pk):
    """Note what a look at a bearing shows: by anybody at the machine, or as part of a visit."""
    bearing = find(BEARINGS, request.user, pk=pk)
    shop = bearing.machine.shop
    demand(request.user, shop, ANYONE)
    corrected = _corrected(request, bearing)
    visit = visit_named(request, shop)
    if corrected and corrected.visit:
        demand_work(request.user, corrected.visit)
    form = BearingInspectionForm(
        request.POST or None,
        machine=bearing.machine,
        user=request.user,
        unit=request.user.length_unit,
        initial=_start(corrected) | ({"visit": visit} if visit else {}),
    )
    if form.is_valid():
        inspection = _save(request, form, bearing, corrected)
        if inspection is not None:
            return redirect(inspection)
    return render(
        request,
        "machines/inspect_bearing.html",
        {
            "bearing": bearing,
            "machine": bearing.machine,
            "machine_url": bearing.machine.get_absolute_url(),
            "corrected": corrected,
            "form": form,
        },
    )


def _corrected(request, bearing):
    pk = request.GET.get("corrects")
    if not pk:
        return None
    found = bearing.inspections.filter(pk=whole_number(pk)).first()
    if found is None:
        raise Http404("no such inspection")
    return found


def _start(corrected):
    """What the form starts with when an inspection is corrected."""
    if corrected is None:
        return {}
    kept = ("feel", "noise", "temperature_rise_k", "velocity_mm_s", "speed_rpm", "note")
    return {name: getattr(corrected, name) for name in kept} | {
        "runout": corrected.runout_typed,
        "peaks": ", ".join(f"{peak:g}" for peak in corrected.peaks_hz),
    }


def _save(request, form, bearing, corrected):
    given = form.cleaned_data
    try:
        inspection = inspect_bearing(
            bearing=bearing,
            made_by=request.user,
            visit=given.get("visit"),
            corrects=corrected,
            entry_id=given["entry_id"],
            **form.found,
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    messages.success(request, f"The look at the {bearing} is saved.")
    return inspection


@require_safe
def inspection(request, pk):
    """One look at a bearing: what was found, what it means, and what follows from it."""
    found = find(INSPECTIONS, request.user, pk=pk)
    return render(
        request,
        "machines/bearing_inspection.html",
        {
            "inspection": found,
            "bearing": found.bearing,
            "machine": found.bearing.machine,
            "machine_url": found.bearing.machine.get_absolute_url(),
            "findings": findings_of(found, request.user.length_unit),
            "before": look_before(found),
            "corrected_by": getattr(found, "corrected_by", None),
            "may_enter": found.visit is not None and may_enter(request.user, found.visit),
            "correct_url": _correct_url(request, found),
        },
    )


def _correct_url(request, inspection):
    """Where the person may correct an inspection; empty if they may not or not yet."""
    if hasattr(inspection, "corrected_by"):
        return ""
    query = {"corrects": inspection.pk}
    visit = inspection.visit
    if visit is not None:
        if not works_at(request.user, visit):
            return ""
        if visit.is_signed:
            visit = visit.corrections.unsigned().first()
        if visit is None:
            return ""
        query["visit"] = visit.pk
    url = reverse("machines:inspect_bearing", args=[inspection.bearing_id])
    return f"{url}?{urlencode(query)}"


def fit_belt(request, pk):
    return _fit(request, find(BELTS, request.user, pk=pk))


def fit_bearing(request, pk):
    return _fit(request, find(BEARINGS, request.user, pk=pk))


def _fit(request, place):
    """Note that a new belt or bearing is in, without its having been recommended."""
    machine = place.machine
    demand(request.user, machine.shop, DESK)
    form = FitForm(
        request.POST or None,
        machine=machine,
        user=request.user,
        initial={"part": place.part_id, "why": Removal.Why.PLANNED},
    )
    del form.fields["note"]
    if form.is_valid():
        given = form.cleaned_data
        try:
            fit(
                place,
                made_by=request.user,
                visit=given.get("visit"),
                entry_id=given["entry_id"],
                **form.what,
            )
            messages.success(request, f"The new {place} is on record.")
            return redirect(place)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(
        request,
        "machines/drive_form.html",
        {
            "form": form,
            "machine": machine,
            "machine_url": machine.get_absolute_url(),
            "of": place,
            "title": f"Note that a new {place} is fitted",
        },
    )
