"""The page where something to come back for is given a day, called done, or dropped."""

from django.contrib import messages
from django.shortcuts import redirect, render

from shop.people.access import demand_work, find
from shop.visits.come_back import settle_come_back
from shop.visits.forms import SettleForm
from shop.visits.models import Visit
from shop.web.errors import Refused


def settle(request, pk):
    """Say what becomes of what a visit left undone."""
    found = find(Visit.objects.select_related("shop", "firm"), request.user, pk=pk)
    demand_work(request.user, found)
    form = SettleForm(request.POST or None)
    if form.is_valid():
        try:
            step = settle_come_back(found, made_by=request.user, **form.cleaned_data)
            messages.success(request, f"To come back for: {step.get_state_display()}.")
            return redirect(found)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    steps = found.come_back_steps.select_related("made_by")
    context = {"visit": found, "form": form, "steps": steps}
    return render(request, "shop/settle_come_back.html", context)
