"""The page on which findings are written down."""

from django.shortcuts import redirect, render

from machines.register.models import VisitedMachine
from machines.visit_work.forms import FindingsForm
from machines.visit_work.services import note_findings
from shop.people.access import demand_work, find
from shop.people.editing import editing, stamped
from shop.web.errors import Refused


@editing
def findings(request, pk):
    """What was found at a machine visited, in words."""
    visited = find(
        VisitedMachine.objects.select_related("visit__shop", "machine__shop", "incident"),
        request.user,
        pk=pk,
    )
    demand_work(request.user, visited.visit)
    form = FindingsForm(request.POST or None, initial={"findings": visited.findings})
    stamped(request, form, visited)
    if form.is_valid():
        try:
            note_findings(visited, form.cleaned_data["findings"])
            return redirect(visited.visit)
        except Refused as refusal:
            form.add_error("findings", str(refusal))
    return render(
        request,
        "machines/findings.html",
        {
            "visited": visited,
            "machine": visited.machine,
            "machine_url": visited.machine.get_absolute_url(),
            "form": form,
        },
    )
