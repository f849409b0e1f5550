"""Saying at a visit that a belt is off, or stayed on."""

from django.contrib import messages
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from machines.drive.belts_off import belt_stayed_on, take_belt_off
from machines.drive.models import Belt
from machines.visit_work.views.machines import VISITS
from shop.people.access import demand_work, find
from shop.web.errors import Refused


@require_POST
def belt_off(request, visit_pk, pk):
    """Note that a belt is off, or (with `on` sent) that it stayed on."""
    visit = find(VISITS, request.user, pk=visit_pk)
    demand_work(request.user, visit)
    belt = find(Belt.objects.select_related("machine"), request.user, pk=pk)
    try:
        if "on" in request.POST:
            belt_stayed_on(visit, belt)
        else:
            take_belt_off(visit, belt, made_by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(f"{visit.get_absolute_url()}#belt-{belt.pk}")
