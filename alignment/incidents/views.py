"""What the operator says after a crash, at the machine."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django_htmx.http import HttpResponseClientRedirect

from alignment.sheets.cautions import AFTER_A_CRASH
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.machine_pictures import machine_figures
from machines.register.contacts import contacts_of
from machines.register.models import Machine, Station
from shop.people.access import ANYONE, demand, find
from shop.web.errors import Refused

from .forms import IncidentForm
from .services import log_incident_at

MACHINES = Machine.objects.select_related("shop").with_stop_state()


def log_incident(request, pk):
    """Log what just happened at a machine."""
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, ANYONE)
    form = IncidentForm(
        request.POST or None,
        request.FILES or None,
        machine=machine,
        unit=request.user.length_unit,
        initial={"note": request.GET.get("note", "")},
    )
    if form.is_valid() and (incident := _logged(request, machine, form)):
        return _onwards(request, incident)
    chain, unit = chain_at(machine), request.user.length_unit
    context = {
        "machine": machine,
        "unit": unit,
        "figure": machine_figures([machine], unit, chains={machine.pk: chain})[machine.pk],
        "machine_url": machine.get_absolute_url(),
        "form": form,
        "cautions": AFTER_A_CRASH,
        "belts": machine.belts.all(),
        "contacts": contacts_of(machine.shop, machine),
        "axes": machine.axes.all(),
        "last_stations": _last_stations(machine),
        "again": [state for state in chain if state.again],
    }
    return render(request, "alignment/log_incident.html", context)


def _last_stations(machine):
    """The stations of the last incident that named any."""
    last = machine.incidents.filter(stations_hit__isnull=False).first()
    return Station.objects.current().filter(hits__incident=last) if last else []


def _logged(request, machine, form):
    """The incident; None when it was refused, which the form then says."""
    try:
        incident = log_incident_at(machine=machine, made_by=request.user, **form.account())
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return None
    messages.success(request, f"Logged. {_runs_or_not(incident)}")
    return incident


def _runs_or_not(incident):
    """Whether the machine runs from now on, in a sentence; what was stopped before stays so."""
    if not incident.may_run:
        return "The machine is stopped."
    if incident.machine.standstills.filter(ended_at__isnull=True).exists():
        return "The machine stays stopped, as it was before, until somebody lets it run again."
    return "The machine may run."


def _onwards(request, incident):
    """To the incident's page; a script that sent the form has to be told to go there."""
    if request.htmx:
        return HttpResponseClientRedirect(incident.get_absolute_url())
    return redirect(incident)
