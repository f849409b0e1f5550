"""Incidents on the pages of a machine and of a visit."""

from django.db.models import Count, Prefetch

from machines.register.panels import MACHINES
from shop.hooks import Panel
from shop.people.access import CONTRACTOR, may_enter, role_at
from shop.snapshots.pages import cached_panel

from .twice import asked_about

INCIDENTS_SHOWN = 5


@cached_panel
def incidents(machine, request):
    """The incidents that nobody has closed, and the way to log one."""
    shown = list(machine.incidents.open().select_related("made_by")[: INCIDENTS_SHOWN + 1])
    return Panel(
        "machines/panels/incidents.html",
        {
            "machine": machine,
            "incidents": shown[:INCIDENTS_SHOWN],
            "asked_about": asked_about(shown),
            "more": len(shown) > INCIDENTS_SHOWN,
            "may_open_visit": role_at(request.user, machine.shop) in CONTRACTOR,
        },
    )


def stopped_at(visit):
    """(machine, the incident that called for the visit or None) of the machines visited that stand
    stopped; two queries."""
    stopped = list(MACHINES.filter(visited__visit=visit, stopped=True).order_by("number"))
    if not stopped:
        return []
    called_by = {
        here.machine_id: here.incident for here in visit.visited.select_related("incident")
    }
    return [(machine, called_by.get(machine.pk)) for machine in stopped]


@cached_panel
def visit_incident(visit, request):
    """The machines visited, what called for it, and what was found in words."""
    visited = list(
        visit.visited.select_related("incident__made_by")
        .annotate(incident_photos=Count("incident__photos"))
        .order_by("pk")  # grouping drops the usual order
        .prefetch_related("photos", Prefetch("machine", MACHINES))
    )
    if not visited:
        return None
    return Panel(
        "machines/panels/visit_incident.html",
        {
            "visit": visit,
            "visited": visited,
            "told": _found_told(visited),
            "may_work": may_enter(request.user, visit),
        },
    )


def _found_told(visited):
    """How much was written down and photographed at the machines visited, in a few words."""
    written = sum(bool(here.findings) for here in visited)
    photos = sum(len(here.photos.all()) for here in visited)
    said = [f"{written} of {len(visited)} written"] if written else []
    said += [f"{photos} photo{'' if photos == 1 else 's'}"] if photos else []
    return ", ".join(said) or "nothing yet"
