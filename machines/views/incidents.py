"""Pages of what happened at a machine."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop.access import CONTRACTOR, find, role_at

from ..models import Incident, IncidentPhoto
from ..photos import jpeg_of

INCIDENTS = Incident.objects.select_related("machine__shop", "made_by")


@require_safe
def incident(request, pk):
    """One incident: the account of it, its photos, and the visits it called for."""
    found = find(INCIDENTS, request.user, pk=pk)
    return render(
        request,
        "machines/incident.html",
        {
            "incident": found,
            "machine": found.machine,
            "machine_url": found.machine.get_absolute_url(),
            "photos": found.photos.all(),
            "visited": found.visited.select_related("visit__shop", "visit__contractor"),
            "may_open_visit": role_at(request.user, found.machine.shop) in CONTRACTOR
            and found.state != Incident.State.CLOSED,
        },
    )


@require_safe
def photo(request, pk):
    """The photo itself, for those who may see its machine; every stored photo is a JPEG."""
    found = find(IncidentPhoto.objects, request.user, pk=pk)
    return jpeg_of(found.image, f"incident-{found.incident_id}-photo-{found.pk}.jpg")
