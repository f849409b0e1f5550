"""Pages of what happened at a machine."""

from django.contrib import messages
from django.db.models import Q
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from machines.incidents.first_look import first_look
from machines.incidents.follow_up import close_incident, look_at_incident, tick_line
from machines.incidents.forms import CheckLineForm, FollowUpForm
from machines.incidents.models import CheckLine, Incident, IncidentPhoto
from machines.incidents.photos import still_waiting
from machines.incidents.twice import join_twice, keep_both, maybe_twice
from machines.register.contacts import contacts_of
from machines.register.photos import jpeg_of
from shop.people.access import ANYONE, CONTRACTOR, DESK, demand, demand_work, find, role_at
from shop.web.errors import Refused

INCIDENTS = Incident.objects.select_related("machine__shop", "made_by")
LINES = CheckLine.objects.select_related("visited__visit__shop", "visited__machine")
CLOSE = "close"


def incident(request, pk):
    """One incident: the account of it, what to look at first, and what became of it."""
    found = find(INCIDENTS, request.user, pk=pk)
    role = role_at(request.user, found.machine.shop)
    if request.method == "POST":
        demand(request.user, found.machine.shop, DESK)
    form = FollowUpForm(request.POST or None) if role in DESK else None
    if form and form.is_valid() and _followed(request, found, form):
        return redirect(found)
    waiting = still_waiting(found)
    is_open = found.state != Incident.State.CLOSED
    return render(
        request,
        "machines/incident.html",
        {
            "incident": found,
            "machine": found.machine,
            "machine_url": found.machine.get_absolute_url(),
            "photos": IncidentPhoto.objects.filter(Q(incident=found) | Q(incident__same_as=found)),
            "maybe": maybe_twice(found),
            "again": found.logged_again.select_related("made_by"),
            "waiting": waiting,
            "visited": found.visited.select_related("visit__shop", "visit__contractor"),
            "triage": first_look(found),
            "steps": found.steps.select_related("made_by"),
            "form": form if is_open or (form and form.is_bound) else None,
            "may_open_visit": role in CONTRACTOR and is_open,
            "contacts": contacts_of(found.machine.shop, found.machine),
            "may_stop": is_open and not found.machine.is_stopped,
        },
    )


def _followed(request, incident, form):
    """Take the step the button stands for; False, with the reason on the form, when refused."""
    given = form.cleaned_data
    step = close_incident if CLOSE in request.POST else look_at_incident
    try:
        step(incident, made_by=request.user, found=given["found"], entry_id=given["entry_id"])
    except Refused as refusal:
        form.add_error("found", str(refusal))
        return False
    messages.success(request, "Closed." if CLOSE in request.POST else "Taken as looked at.")
    return True


@require_POST
def same_incident(request, pk):
    """Say whether an incident is the one logged minutes before: join both, or keep both."""
    found = find(INCIDENTS, request.user, pk=pk)
    demand(request.user, found.machine.shop, ANYONE)
    if "both" in request.POST:
        keep_both(found)
        messages.success(request, "Both are kept.")
        return redirect(found)
    try:
        first = join_twice(found, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(found)
    messages.success(request, "Joined. Both accounts stand here.")
    return redirect(first)


@require_POST
def check_line(request, pk):
    """Tick a line of a visit's check list, with what was found."""
    line = find(LINES, request.user, pk=pk)
    demand_work(request.user, line.visited.visit)
    form = CheckLineForm(request.POST)
    if form.is_valid():
        try:
            tick_line(line, by=request.user, found=form.cleaned_data["found"])
        except Refused as refusal:
            messages.error(request, str(refusal))
    else:
        messages.error(request, f"{line}: {form.errors['found'][0]}")
    return redirect(f"{line.visited.visit.get_absolute_url()}#part-{line.pk}")


@require_safe
def photo(request, pk):
    """The photo itself, for those who may see its machine; every stored photo is a JPEG."""
    found = find(IncidentPhoto.objects, request.user, pk=pk)
    return jpeg_of(found.image, f"incident-{found.incident_id}-photo-{found.pk}.jpg")
