"""A machine's label and the short address it carries."""

from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from machines.register import labels
from machines.register.labelling import issue_label, label_of
from machines.register.models import Machine
from shop.people.access import ANYONE, demand, find, owns
from shop.web.served import absolute

MACHINES = Machine.objects.select_related("shop").with_stop_state()


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
            "address": label_of(machine, absolute).address,
            "sizes": labels.choices_on(machine.shop.paper_size),
            "may_allow": owns(request.user, machine.shop),
        },
    )


@require_POST
def print_label(request, pk):
    """Issue the label in the size chosen, and show it."""
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, ANYONE)
    size = request.POST.get("size", "")
    if size not in labels.SIZES:
        raise Http404("no label of that size")
    return redirect(issue_label(machine, size, absolute))
