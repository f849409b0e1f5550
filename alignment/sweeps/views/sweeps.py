"""The sweep page: readings go in, the offset and the verdict come out as they are typed."""

from django.contrib import messages
from django.http import HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from alignment.geometry.frame import RIGHT
from alignment.sheets import formatting
from alignment.sheets.cautions import SWEEPING
from alignment.sheets.services import line_without_limit
from alignment.sheets.units import work_unit
from alignment.sweeps.answers import typed_together
from alignment.sweeps.doubts import doubt_of
from alignment.sweeps.drafts import draft_of, drop_draft, keep_draft
from alignment.sweeps.forms.initial import correcting, fresh, redrawn
from alignment.sweeps.forms.picture import PictureForm
from alignment.sweeps.forms.rows import BarEntry, FlatEntry
from alignment.sweeps.forms.sweep import SweepEntry
from alignment.sweeps.measuring import BAR, FLAT
from alignment.sweeps.models import Check, Indicator
from alignment.sweeps.on_device import fit_facts
from alignment.sweeps.pictures import svg_response
from alignment.sweeps.preview import shown_trial, trial_figure
from alignment.sweeps.services import save_check
from alignment.sweeps.thread_bar import sweep_bar
from shop.web.errors import Refused

from .thread import go_on
from .workplace import corrected_check, item_at, station_at, tell_it_is_signed, visit_worked_on

ENTRIES = {BAR: BarEntry, FLAT: FlatEntry}
REDRAW, SAVE, AFRESH, ONLY = "show", "save", "afresh", "only"
NEXT = "next"  # what SAVE says when the next line is to be swept at once


def sweep(request, visit_pk, pk):
    """Sweep one acceptance item at a visit: lay the boxes out, work it out, save it."""
    visit = visit_worked_on(request, visit_pk)
    item = item_at(visit, request, pk)
    corrected = corrected_check(visit, request, item)
    if visit.is_signed and request.method != "POST":
        tell_it_is_signed(request, visit)
        return redirect(visit)
    saving = SAVE in request.POST
    if AFRESH in request.POST:
        drop_draft(request.user, visit, item, request.POST[AFRESH])
        return redirect(request.get_full_path())
    entry = _entry(request, visit, item, corrected, whole=saving)
    if (
        saving
        and entry.is_valid()
        and not _asked(visit, item, entry)
        and (check := _saved(request, visit, item, entry, corrected))
    ):
        drop_draft(request.user, visit, item, check.phase)
        return _lead_on(request, visit, check)
    if request.method == "POST":
        keep_draft(request.user, visit, item, entry.form.data)
    return _page(request, visit, item, entry, corrected)


def _asked(visit, item, entry):
    """Whether a reading has to be asked about first; the form then does."""
    doubt = doubt_of(visit, item, entry)
    if doubt:
        ways = " or ".join(f"{words}" for _, words in doubt.ways)
        entry.form.add_error(None, f"{doubt.words}: {f'is it {ways}' if ways else 'is it right'}?")
    return doubt is not None


def _lead_on(request, visit, check):
    """To what is next at the visit where that was asked for, else to the saved check."""
    told = f"Saved {check.item}, {check.phase}: {check.verdict}.{_also_answered(check)}"
    messages.success(request, told)
    if request.POST[SAVE] != NEXT or check.corrects_id:
        return redirect(check)
    station = check.item.station
    moved = station.pk if check.phase == Check.Phase.AS_LEFT else None
    return go_on(request, visit, station.machine_id, moved)


def _also_answered(check):
    """What else the same readings answered, in words."""
    lines = [f"{one.item.name}: {one.verdict}" for one in typed_together(check)]
    return f" The same readings answer {'; '.join(lines)}." if lines else ""


def _entry(request, visit, item, corrected, *, whole):
    """What was sent, or what a fresh page starts with."""
    unit = work_unit(item.sheet, request.user)
    if REDRAW in request.POST:
        data, refusal, request.question = redrawn(request.POST, request.POST[REDRAW], item)
        if refusal:
            messages.error(request, refusal)
    elif request.method == "POST":
        data = request.POST
    elif corrected:
        data = correcting(corrected)
    else:
        data = fresh(visit, item, request.user, request.GET.get("phase"))
    if request.method != "POST" and (draft := draft_of(request.user, visit, item, data["phase"])):
        data, request.draft = draft.data, draft
    return _read(request, visit, item, data, unit=unit, whole=whole)


def _read(request, visit, item, data, **how):
    """What was sent or filled in, read as the surface of the item asks for."""
    entry = ENTRIES.get(item.surface, SweepEntry)
    return entry(data, item=item, indicators=Indicator.objects.for_visit(visit), **how)


def _saved(request, visit, item, entry, corrected):
    """The check that was saved; None when it was refused, which the form then says."""
    said = entry.form.cleaned_data
    try:
        return save_check(
            visit=visit,
            item=item,
            phase=corrected.phase if corrected else said["phase"],
            sweeps=entry.sweeps(),
            made_by=request.user,
            note=said["note"],
            corrects=corrected,
            entry_id=said["entry_id"],
            whole_sheet=ONLY not in request.POST,
        )
    except (Refused, ValueError) as refusal:
        entry.form.add_error(None, str(refusal))


def sides_of(item):
    """What lies at the right and at the left of the item's dial."""
    return ("front", "rear") if item.view.front_at == RIGHT else ("rear", "front")


def _page(request, visit, item, entry, corrected):
    machine = item.station.machine
    shown = shown_trial(visit, item, entry)
    return render(
        request,
        "alignment/sweep.html",
        {
            "visit": visit,
            "item": item,
            "machine": machine,
            "machine_url": machine.get_absolute_url(),
            "entry": entry,
            "form": entry.form,
            "corrected": corrected,
            "here": request.get_full_path(),
            "sides": sides_of(item),
            "fit": fit_facts(item, entry, shown["last"]),
            "bar": sweep_bar(request, visit, item, entry.form["phase"].value()),
            "draft": getattr(request, "draft", None),
            "question": getattr(request, "question", None),
            "redrawn": request.method != "POST" or REDRAW in request.POST,
            "only": ONLY in request.POST,
            "tolerance": formatting.limits(item, entry.unit),
            "cautions": SWEEPING,
        }
        | shown,
    )


@require_POST
def sweep_without_limit(request, visit_pk, pk):
    """Begin to sweep a station that no line of a sheet speaks of: there is nothing to hold it
    against, so it is swept for the record."""
    visit = visit_worked_on(request, visit_pk)
    station = station_at(visit, request, pk)
    try:
        line = line_without_limit(station, made_by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(visit)
    return redirect("alignment:sweep", visit.pk, line.pk)


@require_POST
def try_sweep(request, visit_pk, pk):
    """What the readings typed so far say, as the part of the sweep page that shows it."""
    visit = visit_worked_on(request, visit_pk)
    item = item_at(visit, request, pk)
    entry = _read(request, visit, item, request.POST, unit=work_unit(item.sheet, request.user))
    keep_draft(request.user, visit, item, request.POST)
    context = {"entry": entry} | shown_trial(visit, item, entry)
    return render(request, "alignment/sweep_live.html", context)


@require_GET
def try_picture(request, visit_pk, pk):
    """Where the axis sits by the figures in the address."""
    visit = visit_worked_on(request, visit_pk)
    item = item_at(visit, request, pk)
    form = PictureForm(request.GET)
    if not form.is_valid():
        return HttpResponseBadRequest("The address of this picture is not whole.")
    if bool(form.cleaned_data["line"]) != item.is_tilt:
        return HttpResponseBadRequest("This picture is of something else than the item.")
    given = form.cleaned_data
    figure = trial_figure(visit, item, form.place(), given["phase"], given["unit"])
    return svg_response(figure, str(item), request.GET.get("palette"))
