"""Stopping a machine and letting it run again; releasing shows what is still urged."""

from django.contrib import messages
from django.shortcuts import redirect, render

from machines.drive.models import Recommendation
from machines.incidents.forms import ReleaseForm
from machines.incidents.stopping import release_machine, stop_machine
from machines.register.views.floor import MACHINES
from shop.hooks import from_above
from shop.people.access import ANYONE, DESK, demand, find
from shop.web.errors import Refused


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
        request,
        "machines/release.html",
        {
            "machine": found,
            "form": form,
            "urgent": urgent,
            "incidents": found.incidents.open().select_related("made_by"),
            "unsettled": from_above("thread").not_settled(found),
        },
    )
