"""The kinds of machine that a person can start from, and those the firm keeps."""

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from shop.paper.drawing import to_svg
from shop.paper.palettes import LIGHT, PALETTES
from shop.people.editing import editing, stamped

from .catalogue import kind_named, kinds_for
from .drawing import describe, machine_drawing
from .models import FirmKind


class KindForm(forms.ModelForm):
    """What a firm calls a kind of its own."""

    class Meta:
        model = FirmKind
        fields = ["name"]

    def _get_validation_exclusions(self):
        return super()._get_validation_exclusions() - {"firm"}


@require_safe
def kinds(request):
    """Every kind there is for the person, with its drawing."""
    shown = [(one, describe(one.kind)) for one in kinds_for(request.user)]
    return render(request, "machines/kinds.html", {"kinds": shown})


@editing
def kind(request, slug):
    """One kind: what a machine made of it starts with; a firm's own can be renamed."""
    found = _named(request, slug)
    form = None
    if found.own:
        form = stamped(request, KindForm(request.POST or None, instance=found.own), found.own)
        if form.is_valid():
            form.save()
            messages.success(request, "Saved.")
            return redirect(found.own)
    elif request.method == "POST":
        raise Http404("our kinds are not renamed")
    context = {"choice": found, "kind": found.kind, "alt": describe(found.kind), "form": form}
    context["stations"] = [
        (one, found.kind.station(one.datum).name if one.datum else "")
        for one in found.kind.stations
    ]
    return render(request, "machines/kind.html", context)


@require_safe
def kind_picture(request, slug):
    """A kind drawn from its data."""
    found = _named(request, slug)
    palette = PALETTES.get(request.GET.get("palette"), LIGHT)
    drawing = machine_drawing(found.kind, palette)
    return HttpResponse(
        to_svg(drawing, found.name, describe(found.kind)),
        content_type="image/svg+xml",
        headers={"Cache-Control": "private, no-cache"},
    )


@require_POST
def drop_kind(request, pk):
    """Take a kind off the firm's list; machines that were made of it stay as they are."""
    found = get_object_or_404(FirmKind.objects.visible_to(request.user), pk=pk)
    found.delete()
    messages.success(request, f"{found} is off the list; machines made of it stay as they are.")
    return redirect("machines:kinds")


def _named(request, slug):
    found = kind_named(request.user, slug)
    if found is None:
        raise Http404("no such kind")
    return found
