"""What this app adds to the pages of a machine and of a visit."""

from alignment.sheets.cautions import SWEEPING
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.chain_view import chain_at, chains_of
from alignment.sweeps.pictures import series_figure
from alignment.sweeps.series import figures_by_item
from machines.register.visited_machines import machines_at
from shop.hooks import Panel
from shop.people.access import DESK, may_enter, role_at
from shop.people.models import Shop
from shop.snapshots.pages import cached_panel
from shop.web.request_memo import request_memo

from .risk import counts_of, standing_risks, why

MACHINES_ON_HOME = 5


def _chain(machine):
    """The machine's chain today, asked for once a page."""
    return request_memo(("chain", machine.pk), lambda: chain_at(machine))


@cached_panel
def chain(machine, request):
    """A machine's chain as it stands today."""
    return Panel(
        "alignment/panels/chain.html",
        {
            "machine": machine,
            "chain": _chain(machine),
            "no_limits": not any(
                one.item.has_limit for state in _chain(machine) for one in state.items
            ),
            "unit": request.user.length_unit,
            "may_edit": role_at(request.user, machine.shop) in DESK,
        },
    )


@cached_panel
def series(machine, request):
    """A small picture of each item of the sheet in force over the visits; none without a sheet."""
    items = list(
        AcceptanceItem.objects.in_force().filter(sheet__machine=machine).select_related("station")
    )
    if not items:
        return None
    zone = machine.shop.zone
    states = {one.item.pk: one.state for state in _chain(machine) for one in state.items}
    measured = figures_by_item(items, zone)
    incidents = list(machine.incidents.order_by("happened_at"))
    unit = request.user.length_unit
    shown = []
    for item in items:
        if item.pk in measured:
            figure = series_figure(item, measured[item.pk], incidents, unit, zone)
            shown.append({"item": item, "alt": figure.describe(), "state": states.get(item.pk)})
    unmeasured = [item for item in items if item.pk not in measured]
    return Panel("alignment/panels/series.html", {"series": shown, "unmeasured": unmeasured})


@cached_panel
def visit_chain(visit, request):
    """The chains of the machines visited, in checking order, with what to do next."""
    machines, chains = machines_at(visit), chains_of(visit)
    return Panel(
        "alignment/panels/visit_chain.html",
        {
            "visit": visit,
            "machines": [
                {
                    "machine": one,
                    "chain": chains[one.pk],
                    "was_measured": any(
                        item.as_found or item.as_left
                        for state in chains[one.pk]
                        for item in state.items
                    ),
                }
                for one in machines
            ],
            "may_change": role_at(request.user, visit.shop) in DESK,
            "unit": request.user.length_unit,
            "may_work": may_enter(request.user, visit),
            "cautions": SWEEPING,
        },
    )


def home_drift(request):
    """The machines most likely out today, for those at the desk; a fixed number of queries."""
    if not request.user.memberships.current().filter(role__in=DESK).exists():
        return None
    risks = standing_risks(Shop.objects.visible_to(request.user))
    counts = counts_of(risks)
    if not counts["count"]:
        return None
    pressing = risks.filter(pressing=True).with_all().most_pressing_first()[:MACHINES_ON_HOME]
    return Panel(
        "alignment/panels/home_drift.html",
        {
            "pressing": [{"risk": one, "why": why(one)} for one in pressing],
            "count": counts["pressing"],
            "more": max(counts["pressing"] - MACHINES_ON_HOME, 0),
            "known": counts["known"],
        },
    )
