"""What this app adds to the pages of a machine and of a visit."""

from django.utils import timezone

from machines.models import Machine
from shop.access import DESK, may_enter
from shop.composing import Panel

from .cautions import SWEEPING
from .chainview import chain_at, chains_at
from .drifting.risk import ranked
from .models import AcceptanceItem
from .pictures import series_figure
from .series import by_item, by_visit

MACHINES_ON_HOME = 5
# Ranking takes some milliseconds a machine; of more than these the first page only leads on to it.
RANKED_ON_HOME = 100


def chain(machine, request):
    """A machine's chain as it stands today."""
    return Panel(
        "alignment/panels/chain.html",
        {"machine": machine, "chain": chain_at(machine), "unit": request.user.length_unit},
    )


def series(machine, request):
    """A small picture of each item of the sheet in force over the visits; none without a sheet."""
    items = list(
        AcceptanceItem.objects.filter(
            sheet__machine=machine, sheet__is_current=True
        ).select_related("station")
    )
    if not items:
        return None
    checks, zone = by_item(items), machine.shop.zone
    incidents = list(machine.incidents.order_by("happened_at"))
    unit = request.user.length_unit
    shown = []
    for item in items:
        if item.pk in checks:
            visits = by_visit(checks[item.pk], zone)
            figure = series_figure(item, visits, incidents, unit, zone)
            shown.append({"item": item, "alt": figure.describe()})
    unmeasured = [item for item in items if item.pk not in checks]
    return Panel("alignment/panels/series.html", {"series": shown, "unmeasured": unmeasured})


def visit_chain(visit, request):
    """The chains of the machines visited, in checking order, with what to do next."""
    machines = [visited.machine for visited in visit.visited.select_related("machine")]
    chains = chains_at(machines, visit)
    return Panel(
        "alignment/panels/visit_chain.html",
        {
            "visit": visit,
            "machines": [{"machine": one, "chain": chains[one.pk]} for one in machines],
            "unit": request.user.length_unit,
            "may_work": may_enter(request.user, visit),
            "cautions": SWEEPING,
        },
    )


def home_drift(request):
    """The machines most likely out today, for those at the desk; a fixed number of queries."""
    if not request.user.memberships.current().filter(role__in=DESK).exists():
        return None
    seen = Machine.objects.visible_to(request.user)
    machines = seen.in_service(timezone.localdate()).select_related("shop")
    count = machines.count()
    if not count:
        return None
    if count > RANKED_ON_HOME:
        return Panel("alignment/panels/home_drift.html", {"count": count, "not_ranked": True})
    found = ranked(machines, lenders=seen)
    pressing = [one for one in found if one.is_pressing]
    return Panel(
        "alignment/panels/home_drift.html",
        {
            "pressing": pressing[:MACHINES_ON_HOME],
            "more": len(pressing[MACHINES_ON_HOME:]),
            "known": sum(one.chance is not None for one in found),
            "count": count,
        },
    )
