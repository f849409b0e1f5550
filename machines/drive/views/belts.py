"""Pages on which a belt is looked at, tooth by tooth."""

from dataclasses import dataclass

from django.contrib import messages
from django.contrib.contenttypes.models import ContentType
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from machines.drive import inspecting
from machines.drive.belt_looks import belt_figure, look_before, what_changed
from machines.drive.describe import belt_facts, belt_geometry_facts
from machines.drive.forms import PhotoForm
from machines.drive.forms_at_visits import InspectionForm
from machines.drive.models import Belt, BeltInspection, Recommendation, ToothCondition, ToothPhoto
from machines.drive.services import pin_photo
from machines.drive.tooth_lists import format_tooth_list, summary_sentence
from machines.engineering.belts import CONDITIONS
from machines.register.photos import jpeg_of
from shop.hooks import from_above
from shop.paper.drawing import to_svg
from shop.paper.palettes import LIGHT, PALETTES
from shop.people.access import ANYONE, demand, demand_work, find, may_enter, works_at
from shop.visits.access import visit_named
from shop.visits.models import Visit
from shop.web.errors import Refused
from shop.web.idempotency import sent_once, with_id
from shop.web.listing import whole_number

BELTS = Belt.objects.select_related("machine__shop", "part", "partner")
INSPECTIONS = BeltInspection.objects.select_related(
    "belt__machine__shop",
    "belt__part",
    "visit__shop",
    "made_by",
    "corrects",
    "corrected_by",
    "tension",
)


@dataclass(frozen=True)
class Tooth:
    """One tooth as the map on the page shows it."""

    number: int
    condition: str
    before: str


def tooth_map(belt, conditions, before):
    """Every tooth of a belt in order; those not named in `conditions` are sound, and those not
    named in `before` were sound last time or were not looked at."""
    sound, count = CONDITIONS[0], belt.teeth or 0
    return [Tooth(n, conditions.get(n, sound), before.get(n, "")) for n in range(1, count + 1)]


def _before(corrected, last):
    """The map of last time: at a correction, of the look before the one it corrects."""
    looked_at = look_before(corrected) if corrected else last
    return looked_at.conditions() if looked_at else {}


def _wanted(belt):
    """The tension wanted and the notes it rings at, in words; empty where not on record."""
    wanted = dict(belt_facts(belt) + belt_geometry_facts(belt))
    said = [wanted.get(label) for label in ("Tension wanted", "Belt frequency")]
    return "; ".join(words for words in said if words)


def inspect_belt(request, pk):
    """Note what a look at a belt shows: by anybody at the machine, or as part of a visit."""
    belt = find(BELTS, request.user, pk=pk)
    demand(request.user, belt.machine.shop, ANYONE)
    visit = visit_named(request, belt.machine.shop)
    corrected = _named(request, "corrects", belt.inspections.prefetch_related("findings"))
    looks = belt.inspections.not_superseded().of_present_belts().prefetch_related("findings")
    last = looks.newest_first().first()
    form = InspectionForm(
        request.POST or None,
        belt=belt,
        unit=request.user.length_unit,
        initial=_start(request, belt, corrected, last),
    )
    if form.is_valid():
        inspection = _save(request, form, belt, visit, corrected)
        if inspection is not None:
            return _lead_on(request, visit, inspection)
    return render(
        request,
        "machines/inspect_belt.html",
        {
            "belt": belt,
            "machine": belt.machine,
            "machine_url": belt.machine.get_absolute_url(),
            "visit": visit,
            "bar": from_above("thread").belt_bar(request, visit, belt) if visit else None,
            "visits_open": [] if visit else _open_visits(request, belt.machine),
            "corrected": corrected,
            "form": form,
            "last": last,
            "last_list": format_tooth_list(last.conditions()) if last else "",
            "teeth": tooth_map(belt, {}, _before(corrected, last)),
            "wanted": _wanted(belt),
            "conditions": ToothCondition.choices,
        },
    )


def _lead_on(request, visit, inspection):
    """To what is next at the visit where that was asked for, else to the saved look."""
    if visit is None or "go_on" not in request.POST:
        return redirect(inspection)
    return from_above("thread").go_on(request, visit, inspection.belt.machine_id)


def _open_visits(request, machine):
    """The visits, not signed yet, at which the person works on the machine."""
    return Visit.objects.worked_by(request.user).unsigned().filter(visited__machine=machine)


def _named(request, parameter, queryset):
    """The record of `queryset` a query parameter names, None without one; else Http404."""
    pk = request.GET.get(parameter)
    if not pk:
        return None
    found = queryset.filter(pk=whole_number(pk)).first()
    if found is None:
        raise Http404(f"no such {parameter}")
    return found


def _start(request, belt, corrected, last):
    """What the form starts with: what is corrected, or on request what was found last time."""
    source = corrected or (last if request.GET.get("start") == "last" else None)
    if source is None:
        return {}
    conditions = source.conditions()
    return {
        "teeth": format_tooth_list(conditions),
        "all_sound": not conditions,
        "note": corrected.note if corrected else "",
    }


def _save(request, form, belt, visit, corrected):
    """The saved inspection; None, with the reason on the form, when it is refused."""
    given = form.cleaned_data
    try:
        inspection = inspecting.inspect_belt(
            belt=belt,
            made_by=request.user,
            teeth=given["teeth"],
            visit=visit,
            note=given["note"],
            measured=form.measured,
            corrects=corrected,
            learnt=form.learnt,
            entry_id=given["entry_id"],
        )
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    messages.success(request, f"The look at the {belt} is saved.")
    return inspection


@require_safe
def inspection(request, pk):
    """One inspection: the map, what it says, what grew since the last, and what follows from it."""
    found = find(INSPECTIONS.prefetch_related("findings"), request.user, pk=pk)
    conditions = found.conditions()
    before = look_before(found)
    return render(
        request,
        "machines/inspection.html",
        {
            "inspection": found,
            "belt": found.belt,
            "machine": found.belt.machine,
            "machine_url": found.belt.machine.get_absolute_url(),
            "sentence": summary_sentence(found.belt.teeth, conditions),
            "picture_words": belt_figure(found, before).describe(),
            "columns": ["Tooth", "Condition"],
            "rows": [
                [finding.tooth, finding.get_condition_display()] for finding in found.findings.all()
            ],
            "before": before,
            "changes": what_changed(found, before),
            "corrected_by": getattr(found, "corrected_by", None),
            "correct_url": _correct_url(request, found),
            "may_enter": found.visit is not None and may_enter(request.user, found.visit),
            "advice": _resting_on(found),
        },
    )


def _correct_url(request, inspection):
    """Where the person may correct an inspection, empty if they may not or not yet.

    What was signed is corrected at a visit that corrects the signed one.
    """
    url = reverse("machines:inspect_belt", args=[inspection.belt_id])
    query = {"corrects": inspection.pk}
    visit = inspection.visit
    if hasattr(inspection, "corrected_by"):
        return ""
    if visit is not None:
        if not works_at(request.user, visit):
            return ""
        if visit.is_signed:
            visit = visit.corrections.unsigned().first()
        if visit is None:
            return ""
        query["visit"] = visit.pk
    return f"{url}?{urlencode(query)}"


def _resting_on(inspection):
    """The recommendations that name this inspection as evidence, newest first."""
    return Recommendation.objects.filter(
        evidence__content_type=ContentType.objects.get_for_model(BeltInspection),
        evidence__object_id=inspection.pk,
    ).distinct()


@require_safe
def inspection_picture(request, pk):
    """The map of an inspection as an SVG image, with the map of last time below it."""
    found = find(INSPECTIONS.prefetch_related("findings"), request.user, pk=pk)
    figure = belt_figure(found, look_before(found))
    palette = PALETTES.get(request.GET.get("palette"), LIGHT)
    picture = to_svg(figure.drawing(palette), str(found.belt), figure.describe())
    return HttpResponse(picture, content_type="image/svg+xml")


@sent_once
def pin(request, pk):
    """Pin a photo to a tooth of an inspected belt."""
    found = find(INSPECTIONS, request.user, pk=pk)
    demand(request.user, found.belt.machine.shop, ANYONE)
    if found.visit:
        demand_work(request.user, found.visit)
    form = with_id(PhotoForm(request.POST or None, request.FILES or None, belt=found.belt))
    if form.is_valid():
        try:
            pin_photo(found, tooth=form.cleaned_data["tooth"], photo=form.cleaned_data["photo"])
            messages.success(request, "The photo is pinned.")
            return redirect(found)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(
        request,
        "machines/pin_photo.html",
        {
            "form": form,
            "inspection": found,
            "machine": found.belt.machine,
            "machine_url": found.belt.machine.get_absolute_url(),
        },
    )


@require_safe
def tooth_photo(request, pk):
    """The photo itself, for those who may see its machine."""
    found = find(ToothPhoto.objects, request.user, pk=pk)
    return jpeg_of(found.image, f"tooth-{found.tooth}-photo-{found.pk}.jpg")
