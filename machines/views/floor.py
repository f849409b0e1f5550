"""Machines as they stand on the floor: the list, a machine's page, stop and go."""

from django.conf import settings
from django.contrib import messages
from django.db import transaction
from django.shortcuts import redirect, render
from django.utils.text import capfirst
from django.views.decorators.http import require_safe

from shop.access import ANYONE, CONTRACTOR, DESK, demand, find, owns, role_at
from shop.composing import history as history_of
from shop.composing import panels
from shop.errors import Refused
from shop.listing import arrange, csv_of, wants_csv, whole_number
from shop.services import open_visit as open_new_visit
from shop.standing import with_generation
from shop.standing.pages import standing_as_read

from ..forms import OpenVisitForm, ReleaseForm
from ..models import Machine, Recommendation
from ..services import bring_to_visit, release_machine, stop_machine
from ..tables import MachineTable

MACHINES = Machine.objects.select_related("shop").with_standing()
AS_READ = with_generation(MACHINES)
EVENTS_ON_MACHINE_PAGE = 10


@require_safe
def machines(request):
    """Every machine of the person's shops."""
    rows = MACHINES.with_last_visit().visible_to(request.user)
    table = arrange(request, MachineTable(rows))
    if wants_csv(request):
        return csv_of(table, "machines")
    places = list(request.user.memberships.current().select_related("shop"))
    context = {
        "table": table,
        "owned": [place.shop for place in places if place.acts_as_owner_of(place.shop)],
        "may_make": any(place.role in DESK for place in places),
    }
    return render(request, "machines/machines.html", context)


@require_safe
def machine(request, pk):
    """One machine: may it run, what it is, what each app says of it, and what happened last."""
    found = find(AS_READ, request.user, pk=pk)
    standing = standing_as_read(found, found.shop)
    role = role_at(request.user, found.shop)
    return render(
        request,
        "machines/machine.html",
        {
            **standing.keep(lambda: _on_record(found), "machine", found.pk),
            "machine": found,
            "panels": panels(settings.MACHINE_PANELS, found, request),
            "may_release": role in DESK,
            "may_open_visit": role in CONTRACTOR,
            "may_hand_over": owns(request.user, found.shop),
        },
    )


def _on_record(machine):
    return {
        "axes": list(machine.axes.all()),
        "events": history_of(machine, limit=EVENTS_ON_MACHINE_PAGE),
        "break": machine.breaks.filter(back_on=None).select_related("made_by").first(),
    }


def stop(request, pk):
    """Stop a machine until it is looked at: anybody at the machine may."""
    found = find(MACHINES, request.user, pk=pk)
    demand(request.user, found.shop, ANYONE)
    if found.is_stopped:
        messages.info(request, f"Machine {found} is stopped already.")
        return redirect(found)
    if request.method == "POST":
        stop_machine(found, by=request.user)
        messages.success(request, f"Machine {found} is stopped until it is looked at.")
        return redirect(found)
    return render(request, "machines/stop.html", {"machine": found})


def release(request, pk):
    """Let a stopped machine run again, with the reason."""
    found = find(MACHINES, request.user, pk=pk)
    demand(request.user, found.shop, DESK)
    if not found.is_stopped:
        messages.info(request, f"Machine {found} is not stopped; it may run.")
        return redirect(found)
    form = ReleaseForm(request.POST or None)
    if form.is_valid():
        try:
            release_machine(found, by=request.user, reason=form.cleaned_data["reason"])
            messages.success(request, f"Machine {found} may run again.")
            return redirect(found)
        except Refused as refusal:
            form.add_error("reason", str(refusal))
    urgent = found.recommendations.open().filter(urgency=Recommendation.Urgency.BEFORE_RUN)
    return render(
        request, "machines/release.html", {"machine": found, "form": form, "urgent": urgent}
    )


def open_visit(request, pk):
    """Open a visit to a machine, or take the machine up at a visit that is open already."""
    found = find(MACHINES, request.user, pk=pk)
    demand(request.user, found.shop, CONTRACTOR)
    firm = request.user.memberships.current().get(shop=found.shop).firm
    form = OpenVisitForm(
        request.POST or None, machine=found, firm=firm, initial=_called_for(request, found)
    )
    if form.is_valid():
        try:
            return redirect(_visit_for(found, firm, request.user, **form.cleaned_data))
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "machines/open_visit.html", {"machine": found, "form": form})


def _called_for(request, machine):
    """What the form starts with when an incident calls for the visit."""
    pk = request.GET.get("incident", "")
    incident = machine.incidents.open().filter(pk=whole_number(pk)).first()
    return {"incident": incident, "purpose": capfirst(incident)} if incident else {}


@transaction.atomic
def _visit_for(machine, firm, user, *, purpose, incident, planned_for, entry_id, join=None):
    visit = join or open_new_visit(
        shop=machine.shop,
        firm=firm,
        contractor=user,
        purpose=purpose,
        planned_for=planned_for,
        made_by=user,
        entry_id=entry_id,
    )
    bring_to_visit(visit, machine, incident=incident)
    return visit
