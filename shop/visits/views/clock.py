"""Pages of a visit's clock: starting and stopping it, and correcting what it says."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from shop.people.access import demand_work, find, may_enter
from shop.people.editing import editing, stamped
from shop.people.models import User
from shop.visits.clock import correct_spell, enter_spell, remove_spell, start_clock, stop_clock
from shop.visits.forms import ClockForm, SpellForm
from shop.visits.models import Visit, WorkSpell
from shop.visits.worktime import work_time
from shop.web.errors import Refused

VISITS = Visit.objects.select_related("shop", "firm", "contractor")
SPELLS = WorkSpell.objects.select_related("visit__shop", "visit__firm", "who")


@require_POST
def clock(request, pk):
    """Start the person's own clock for travel or work, or stop it."""
    visit = find(VISITS, request.user, pk=pk)
    demand_work(request.user, visit)
    form = ClockForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose travel, work or stop.")
        return redirect(visit)
    try:
        _turn(visit, request.user, **form.cleaned_data)
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(visit)


def _turn(visit, person, *, turn, entry_id):
    if turn != ClockForm.STOP:
        start_clock(visit=visit, who=person, kind=turn, made_by=person, entry_id=entry_id)
        return
    for spell in visit.spells.running().filter(who=person):
        stop_clock(spell)


def times(request, pk):
    """Every stretch of time of a visit, and a form for one that was not clocked."""
    visit = find(VISITS, request.user, pk=pk)
    if request.method == "POST":
        demand_work(request.user, visit)
    form = None
    if may_enter(request.user, visit):
        form = SpellForm(
            request.POST or None,
            visit=visit,
            people=people_of(visit),
            initial={"who": request.user},
        )
    if form is not None and form.is_valid():
        try:
            enter_spell(visit=visit, made_by=request.user, **form.cleaned_data)
            return redirect("shop:times", pk=visit.pk)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    context = {
        "visit": visit,
        "form": form,
        "time": work_time(visit),
        "spells": visit.spells.select_related("who"),
    }
    return render(request, "shop/times.html", context)


@editing
def spell(request, pk):
    """Correct one stretch of time."""
    found = find(SPELLS, request.user, pk=pk)
    demand_work(request.user, found.visit)
    now = {
        name: getattr(found, name) for name in ("who", "kind", "began_at", "ended_at", "distance")
    }
    form = SpellForm(
        request.POST or None,
        visit=found.visit,
        people=people_of(found.visit),
        may_run=found.ended_at is None,
        initial=now,
    )
    stamped(request, form, found)
    if form.is_valid():
        try:
            changes = {name: form.cleaned_data[name] for name in now}
            correct_spell(found, **changes)
            return redirect("shop:times", pk=found.visit_id)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "shop/spell.html", {"visit": found.visit, "spell": found, "form": form})


@require_POST
def remove(request, pk):
    """Take back a stretch of time that was entered by mistake."""
    found = find(SPELLS, request.user, pk=pk)
    demand_work(request.user, found.visit)
    try:
        remove_spell(found)
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("shop:times", pk=found.visit_id)


def people_of(visit):
    """Who of the visit's firm may work at its shop."""
    return User.objects.filter(
        memberships__shop=visit.shop, memberships__firm=visit.firm, memberships__ended_at=None
    ).order_by("last_name", "first_name", "username")
