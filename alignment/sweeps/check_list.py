"""The check list that a visit carries from its incident, each station with how it stands."""

from django.middleware.csrf import get_token

from machines.drive.check_lines import part_lines
from machines.incidents.models import CheckLine
from shop.hooks import Panel
from shop.people.access import may_enter
from shop.snapshots.pages import standing_now

from .chain_view import chains_of


def check_list(visit, request):
    """The lines of each machine's list: stations in the order to check, then parts to look at."""
    lists = standing_now(visit.shop).keep(lambda: _lists(visit), "check-list", visit.pk)
    if not lists:
        return None
    may_work = may_enter(request.user, visit)
    return Panel(
        "alignment/panels/check_list.html",
        {
            "visit": visit,
            "lists": lists,
            "told": f"{left} open" if (left := left_open(lists)) else "all looked at",
            "may_work": may_work,
            "csrf_token": get_token(request),
        },
    )


def _lists(visit):
    lines = list(
        CheckLine.objects.filter(visited__visit=visit, what=CheckLine.What.STATION).select_related(
            "visited__machine"
        )
    )
    parts = part_lines(visit)
    every = [*lines, *(part.line for part in parts)]
    machines = {line.visited.machine_id: line.visited.machine for line in every}
    chains = chains_of(visit) if machines else {}
    return [
        {
            "machine": machine,
            "stations": _stations(lines, pk, chains[pk]),
            "parts": [part for part in parts if part.line.visited.machine_id == pk],
        }
        for pk, machine in machines.items()
    ]


def _stations(lines, machine_pk, chain):
    """Each station line with the station's state at the visit, None when it is no longer there."""
    states = {state.station.name: state for state in chain}
    return [
        {"line": line, "state": states.get(line.subject)}
        for line in lines
        if line.visited.machine_id == machine_pk
    ]


def left_open(lists):
    """How many parts and stations of the lists were not looked at or measured yet."""
    parts = sum(not part.is_done for one in lists for part in one["parts"])
    stations = [one["state"] for a_list in lists for one in a_list["stations"]]
    return parts + sum(state is not None and not state.is_settled for state in stations)
