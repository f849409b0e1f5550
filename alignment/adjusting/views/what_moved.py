"""What a crash moved, by what was swept so far, and which sweep tells most."""

from django.shortcuts import render
from django.views.decorators.http import require_GET

from alignment.adjusting.crashes_like import crashes_like
from alignment.adjusting.what_moved import what_moved as believed
from alignment.sweeps.views.workplace import visit_worked_on
from machines.register.models import Machine
from shop.people.access import find


@require_GET
def what_moved(request, visit_pk, pk):
    """The belief about one machine at a visit, and every sweep that is left, best first."""
    visit = visit_worked_on(request, visit_pk)
    machines = Machine.objects.select_related("shop").with_stop_state()
    machine = find(machines, request.user, pk=pk, shop=visit.shop)
    belief = believed(visit, machine)
    context = {
        "visit": visit,
        "machine": machine,
        "machine_url": machine.get_absolute_url(),
        "belief": belief,
        "alike": belief and crashes_like(belief.incident, request.user, but=visit),
        "open": not (visit.is_signed or visit.is_called_off or visit.corrects_id),
    }
    return render(request, "alignment/what_moved.html", context)
