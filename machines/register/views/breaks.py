"""Taking a machine out of service, and putting it back."""

from django.contrib import messages
from django.shortcuts import redirect, render

from machines.register.break_forms import BreakForm
from machines.register.breaks import put_back_in_service, take_out_of_service
from shop.people.access import DESK, demand, find
from shop.web.errors import Refused
from shop.web.wording import day_text

from .floor import MACHINES


def retire(request, pk):
    """From a day on nothing falls due on the machine, with the reason."""
    found = find(MACHINES, request.user, pk=pk)
    demand(request.user, found.shop, DESK)
    if found.out_of_service_on is not None:
        messages.info(request, f"Machine {found} is out of service already.")
        return redirect(found)
    form = BreakForm(
        request.POST or None,
        machine=found,
        day_label="Out of service from",
        reason_label="Why it is taken out",
    )
    if form.is_valid():
        try:
            take_out_of_service(found, made_by=request.user, **form.cleaned_data)
            messages.success(
                request, f"Machine {found} is out of service; nothing falls due on it."
            )
            return redirect(found)
        except Refused as refusal:
            form.add_error("day", str(refusal))
    return render(request, "machines/take_out.html", {"machine": found, "form": form})


def put_back(request, pk):
    """From a day on the machine's plans run again, with the reason."""
    found = find(MACHINES, request.user, pk=pk)
    demand(request.user, found.shop, DESK)
    if found.out_of_service_on is None:
        messages.info(request, f"Machine {found} is in service.")
        return redirect(found)
    form = BreakForm(
        request.POST or None,
        machine=found,
        day_label="In service again from",
        reason_label="Why it is put back",
    )
    if form.is_valid():
        day, reason = form.cleaned_data["day"], form.cleaned_data["reason"]
        try:
            put_back_in_service(found, by=request.user, day=day, reason=reason)
            messages.success(request, f"Machine {found} is in service from {day_text(day)} on.")
            return redirect(found)
        except Refused as refusal:
            form.add_error("day", str(refusal))
    return render(request, "machines/put_back.html", {"machine": found, "form": form})
