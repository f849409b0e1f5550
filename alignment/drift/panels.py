"""What this app adds to the pages of a machine and of a visit."""

from alignment.adjusting.what_moved import what_moved
from alignment.sheets.cautions import SWEEPING
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.machine_pictures import machine_figures
from alignment.sweeps.pictures import series_figure
from alignment.sweeps.plan_lines import plan_lines
from alignment.sweeps.series import figures_by_item
from alignment.sweeps.thread import thread_of, without_skipped
from machines.incidents.panels import stopped_at
from shop.hooks import Panel
from shop.people.access import DESK, firm_at, may_enter, role_at
from shop.people.models import Shop
from shop.snapshots import standing_of_all
from shop.snapshots.pages import cached_panel
from shop.web.request_memo import request_memo

from .alignment_table import rows_of
from .estimates import drift_of
from .risk import counts_of, standing_risks, why

MACHINES_ON_HOME = 5


def _chain(machine):
    """The machine's chain today, asked for once a page."""
    return request_memo(("chain", machine.pk), lambda: chain_at(machine))


def alignment_now(machine, request):
    """The picture of a machine as it stands today, and its alignment as a table below it.

    Drift borrows from the machines that the person may see, as on the pages of its items; until
    something changes at one of their shops it stands.
    """
    unit = request.user.length_unit
    standing = standing_of_all(Shop.objects.visible_to(request.user))
    at_desk = role_at(request.user, machine.shop) in DESK
    return Panel(
        "alignment/panels/alignment_now.html",
        {
            "machine": machine,
            "unit": unit,
            "firm": firm_at(request.user, machine.shop),
            "may_edit": at_desk,
            **standing.keep(
                lambda: _alignment(machine, request.user, unit),
                "alignment now",
                machine.pk,
                request.user.pk,
                unit,
            ),
        },
    )


def _alignment(machine, user, unit):
    chain = _chain(machine)
    figures = machine_figures([machine], unit, chains={machine.pk: chain})
    return {
        "figure": figures[machine.pk],
        "stations": rows_of(chain, drift_of(machine, user), unit),
        "no_limits": not any(one.item.has_limit for state in chain for one in state.items),
    }


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
    return Panel(
        "alignment/panels/series.html",
        {"series": shown, "unmeasured": unmeasured},
        title="Over the visits",
        summary=f"{len(shown)} of {len(items)} lines measured",
    )


def visit_chain(visit, request):
    """The machines visited as a plan: a line for each station in checking order with its one
    action, and what is done next, which goes by what this person skipped."""
    plan = _plan(visit, request).context
    thread = without_skipped(request, plan["thread"])
    doing = thread.next() if plan["may_work"] else None
    more = {"next": doing, "skipped": doing is None and thread.skips_something()}
    return Panel("alignment/panels/visit_chain.html", plan | more)


@cached_panel
def _plan(visit, request):
    thread = thread_of(visit)
    return Panel(
        "",
        {
            "visit": visit,
            "thread": thread,
            "stopped": stopped_at(visit),
            "machines": [
                {
                    "machine": one.machine,
                    "lines": plan_lines(one),
                    # Goes by the firm's crashes at other shops too, one of which changes little:
                    # it stands until something changes here, or until tomorrow.
                    "moved": what_moved(visit, one.machine) if one.todos else None,
                    "was_measured": any(
                        item.as_found or item.as_left for state in one.chain for item in state.items
                    ),
                }
                for one in thread.machines
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
