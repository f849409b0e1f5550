"""What a person sees first at a shared device: the shop's machines, and what they logged."""

from datetime import datetime

from django.http import Http404
from django.shortcuts import render
from django.views.decorators.http import require_safe

from machines.drive.models import BeltInspection
from machines.incidents.models import Incident
from machines.register.contacts import contacts_of
from machines.register.models import Machine
from shop.people.devices.sessions import SINCE


@require_safe
def at_device(request):
    """Pick the machine to log something at; what was logged in this stay stands below."""
    device = request.shared_device
    if device is None:
        raise Http404  # a signed-in person has the machines' own pages
    today = device.shop.today
    machines = Machine.objects.filter(shop=device.shop).in_service(today).with_stop_state()
    since = datetime.fromisoformat(request.session[SINCE])
    return render(
        request,
        "machines/at_device.html",
        {
            "device": device,
            "shop": device.shop,
            "machines": machines.select_related("shop").order_by("number"),
            "contacts": contacts_of(device.shop),
            "incidents": _own(Incident, request.user, since, machine__shop=device.shop),
            "inspections": _own(
                BeltInspection, request.user, since, belt__machine__shop=device.shop
            ).select_related("belt__machine"),
        },
    )


def _own(model, person, since, **where):
    return model.objects.filter(made_by=person, made_at__gte=since, **where)
