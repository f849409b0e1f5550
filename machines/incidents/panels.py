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
        {"visit": visit, "visited": visited, "may_work": may_enter(request.user, visit)},
    )
