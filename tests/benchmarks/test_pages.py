"""Each list and page against its floor, for somebody who sees few, many and very many machines."""

import pytest

from machines.register.models import Machine
from shop.sandbox.synthetic_data import Asked
from tests.benchmarks.conftest import database
from tests.benchmarks.measuring import PageOf, seconds

PAGES = {
    "home": "/",
    "machines": "/machines/",
    "what is due": "/due/",
    "what goes together": "/due/together/",
    "plans": "/plans/",
    "calendar": "/calendar/",
    "lives": "/lives/",
    "risk of drift": "/drift/",
    "visits": "/visits/",
    "statements": "/statements/",
    "outstanding": "/statements/?outstanding",
    "parts": "/parts/",
}
OF_A_MACHINE = {
    "a machine": "/machines/{machine}/",
    "its history": "/machines/{machine}/history/",
    "its drive train": "/machines/{machine}/drive/",
    "a visit": "/visits/{visit}/",
    "a check": "/checks/{check}/",
    "an item over the years": "/items/{item}/",
    "a shop's year": "/shops/{shop}/year/",
}


@pytest.mark.parametrize("name", [*PAGES, *OF_A_MACHINE])
def test_a_page_as_the_fleet_grows(benchmark, viewers, name):
    told = []
    for viewer in viewers:
        address = PAGES.get(name) or _address(OF_A_MACHINE[name], viewer.user)
        page = PageOf(viewer.user, address)
        told.append((viewer.machines, page, seconds(page.get), seconds(page.floor)))
    benchmark.pedantic(told[0][1].get, rounds=1)
    benchmark.extra_info |= {
        "what": name,
        "machines": [machines for machines, *_ in told],
        "queries": [page.queries for _, page, *_ in told],
        "page_ms": [1000 * taken for *_, taken, _ in told],
        "changed_ms": [1000 * page.after_a_change() for _, page, *_ in told],
        "floor_ms": [1000 * floor for *_, floor in told],
    }


def test_a_machine_s_page_as_its_history_grows(benchmark, fleet, django_db_setup):
    told = []
    for visits in (10, 1000):
        with database(f"one-machine-{visits}", Asked(1, years=10, visits_a_year=visits / 10)):
            machine = Machine.objects.get()
            user = machine.shop.memberships.get(role="owner").user
            page = PageOf(user, machine.get_absolute_url())
            taken, changed = seconds(page.get), page.after_a_change()
            told.append((visits, page.queries, changed, taken, seconds(page.floor)))
    benchmark.pedantic(lambda: None, rounds=1)
    benchmark.extra_info |= {
        "what": "a machine of 10 and of 1,000 visits",
        "machines": [visits for visits, *_ in told],
        "queries": [queries for _, queries, *_ in told],
        "page_ms": [1000 * taken for *_, taken, _ in told],
        "changed_ms": [1000 * changed for _, _, changed, *_ in told],
        "floor_ms": [1000 * floor for *_, floor in told],
    }


def _address(pattern, user):
    """The page of a machine, or of what belongs to it, that the person may see."""
    machine = Machine.objects.visible_to(user).filter(visited__visit__state="signed").first()
    visit = machine.visited.filter(visit__state="signed").first().visit
    check = visit.checks.filter(item__station__machine=machine).first()
    return pattern.format(
        machine=machine.pk, visit=visit.pk, check=check.pk, item=check.item_id, shop=machine.shop_id
    )
