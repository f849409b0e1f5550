"""Opening a visit from a machine."""

from django.db import transaction
from django.shortcuts import redirect, render
from django.utils.text import capfirst

from machines.register.views.floor import MACHINES
from machines.visit_work.forms import OpenVisitForm
from machines.visit_work.services import add_machine_to_visit
from shop.people.access import CONTRACTOR, demand, find
from shop.visits.services import open_visit as open_new_visit
from shop.web.errors import Refused
from shop.web.listing import whole_number


def open_visit(request, pk):
    """Open a visit to a machine, or take the machine up at a visit that is open already."""
    found = find(MACHINES, request.user, pk=pk)
    demand(request.user, found.shop, CONTRACTOR)
    firm = request.user.memberships.current().get(shop=found.shop).firm
    form = OpenVisitForm(
        request.POST or None, machine=found, firm=firm, initial=_called_for(request, found)
    )
    if form.is_valid():
        try:
            return redirect(_visit_for(found, firm, request.user, **form.cleaned_data))
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "machines/open_visit.html", {"machine": found, "form": form})


def _called_for(request, machine):
    """What the form starts with when an incident calls for the visit, or what was said does."""
    pk = request.GET.get("incident", "")
    incident = machine.incidents.open().filter(pk=whole_number(pk)).first()
    if incident is None:
        said = request.GET.get("purpose", "")
        return {"purpose": said} if said else {}
    return {"incident": incident, "purpose": capfirst(incident)}


@transaction.atomic
def _visit_for(machine, firm, user, *, purpose, incident, planned_for, entry_id, join=None):
    visit = join or open_new_visit(
        shop=machine.shop,
        firm=firm,
        contractor=user,
        purpose=purpose,
        planned_for=planned_for,
        made_by=user,
        entry_id=entry_id,
    )
    add_machine_to_visit(visit, machine, incident=incident)
    return visit
