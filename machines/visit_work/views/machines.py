"""Pages for what is noted at a machine during a visit: machines taken up, photos, belts off."""

from django.contrib import messages
from django.http import FileResponse, Http404
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from machines.register.models import FindingPhoto, VisitedMachine
from machines.visit_work.forms import AddMachineForm, FindingPhotoForm
from machines.visit_work.services import add_machine_to_visit, add_photo, remove_photo
from shop.people.access import demand_work, find
from shop.visits.models import Visit
from shop.web.errors import Refused

VISITS = Visit.objects.select_related("shop")
VISITED = VisitedMachine.objects.select_related("visit__shop", "machine__shop")


def add_machine(request, pk):
    """Take another machine of the shop up at a visit."""
    visit = find(VISITS, request.user, pk=pk)
    demand_work(request.user, visit)
    form = AddMachineForm(request.POST or None, visit=visit)
    if form.is_valid():
        given = form.cleaned_data
        try:
            add_machine_to_visit(visit, given["machine"], incident=given["incident"])
            return redirect(visit)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "machines/add_machine.html", {"visit": visit, "form": form})


def photos(request, pk):
    """The photos of what was found at a machine, and the way to add one."""
    visited = find(VISITED, request.user, pk=pk)
    demand_work(request.user, visited.visit)
    form = FindingPhotoForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        try:
            add_photo(visited=visited, made_by=request.user, **form.cleaned_data)
            return redirect("machines:finding_photos", pk=visited.pk)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    context = {
        "visited": visited,
        "machine": visited.machine,
        "photos": visited.photos.all(),
        "form": None if visited.visit.is_signed and not form.is_bound else form,
    }
    return render(request, "machines/finding_photos.html", context)


@require_safe
def finding_photo(request, pk):
    """The photo itself; every stored photo is a JPEG."""
    found = find(FindingPhoto.objects, request.user, pk=pk)
    try:
        content = found.image.open()
    except FileNotFoundError as error:
        raise Http404("the file of this photo is gone") from error
    return FileResponse(
        content,
        content_type="image/jpeg",
        filename=f"finding-photo-{found.pk}.jpg",
        headers={"X-Content-Type-Options": "nosniff"},
    )


@require_POST
def remove_finding_photo(request, pk):
    """Take a photo back."""
    found = find(
        FindingPhoto.objects.select_related("visited__visit", "visited__machine__shop"),
        request.user,
        pk=pk,
    )
    demand_work(request.user, found.visited.visit)
    try:
        remove_photo(found)
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("machines:finding_photos", pk=found.visited_id)
