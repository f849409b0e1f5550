"""A machine's label and the short address it carries."""

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from shop.access import ANYONE, demand, find, role_at
from shop.models import Role

from .. import labels
from ..models import Machine

MACHINES = Machine.objects.select_related("shop").with_standing()


@require_safe
def at_machine(request, code):
    """What a label opens: where to log what happened at its machine.

    Whoever is not signed in is asked to, and comes back here.
    """
    machine = get_object_or_404(Machine.objects.visible_to(request.user), code=code.lower())
    return redirect("alignment:log_incident", machine.pk)


@require_safe
def label(request, pk):
    """A machine's short address, and its label in the sizes there are."""
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, ANYONE)
    return render(
        request,
        "machines/label.html",
        {
            "machine": machine,
            "machine_url": machine.get_absolute_url(),
            "address": _label(request, machine).address,
            "sizes": labels.CHOICES,
            "may_allow": role_at(request.user, machine.shop) == Role.OWNER,
        },
    )


@require_safe
def label_pdf(request, pk):
    """The label as PDF in the size the address names."""
    machine = find(MACHINES, request.user, pk=pk)
    size = request.GET.get("size", "62x29")
    if size == labels.SHEET:
        content = labels.on_sheets(
            _label(request, one) for one in machine.shop.machines.select_related("shop")
        )
    elif size in labels.ROLLS:
        content = labels.on_roll(_label(request, machine), size)
    else:
        raise Http404("no label of that size")
    name = f"label-{machine.number}-{size}.pdf"
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": content_disposition_header(False, name)},
    )


def _label(request, machine):
    short = reverse("machines:at_machine", args=[machine.code])
    return labels.Label(
        number=machine.number,
        name=machine.name,
        shop=str(machine.shop),
        address=request.build_absolute_uri(short),
    )
