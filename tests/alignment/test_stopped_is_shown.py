"""A machine stands stopped until somebody with the right says otherwise; its pages show it."""

from datetime import date

import pytest
from django.urls import reverse

from machines.drive.inspecting import inspect_belt
from machines.drive.recommending import recommend
from machines.incidents.stopping import release_machine, stop_machine
from machines.planning.plans import make_plan
from machines.visit_work.services import add_machine_to_visit
from tests.factories import (
    AssemblyFactory,
    BearingFactory,
    IncidentFactory,
    item_of,
    station_of,
)

SHOWN = ('class="machine-banner stopped"', 'class="stopped-lines"')
OF_MACHINE = [
    "machines:machine", "machines:history", "machines:label", "machines:release",
    "machines:open_visit", "machines:drive", "machines:new_belt", "machines:new_bearing",
    "machines:meters", "machines:read_meter", "machines:recommend", "alignment:log_incident",
    "alignment:sheet", "alignment:sheets", "alignment:new_sheet", "alignment:import_sheet",
    "alignment:placed",
]  # fmt: skip
OF_RECORDS = {
    "machines:belt": "belt",
    "machines:edit_belt": "belt",
    "machines:inspect_belt": "belt",
    "machines:fit_belt": "belt",
    "machines:bearing": "bearing",
    "machines:inspect_bearing": "bearing",
    "machines:assembly": "assembly",
    "machines:inspection": "inspection",
    "machines:pin_photo": "inspection",
    "machines:recommendation": "advice",
    "machines:incident": "incident",
    "machines:plan": "plan",
    "machines:change_plan": "plan",
    "machines:end_plan": "plan",
    "alignment:one_sheet": "sheet",
    "alignment:new_scan": "sheet",
    "alignment:item": "item",
    "alignment:ways": "station",
    "shop:visit": "visit",
}


@pytest.fixture
def records(machine, visit, operator, contractor, owner):
    """One record of each kind that has a page of its own, by name."""
    belt = machine.belts.first()
    inspection = inspect_belt(belt=belt, made_by=operator, teeth={3: "marked", 4: "marked"})
    recommend(machine, visit=None, made_by=operator)
    incident = IncidentFactory(machine=machine, made_by=operator)
    add_machine_to_visit(visit, machine, incident=incident)
    return {
        "belt": belt,
        "bearing": BearingFactory(machine=machine),
        "assembly": AssemblyFactory(machine=machine),
        "inspection": inspection,
        "advice": machine.recommendations.first(),
        "incident": incident,
        "plan": make_plan(
            shop=machine.shop, machine=machine, made_by=owner, what="oil", kind="lubrication",
            months=1, starts_on=date(2026, 1, 10),
        ),
        "sheet": machine.sheets.get(),
        "item": item_of(machine, "guide bushing"),
        "station": station_of(machine, "sub-spindle"),
        "visit": visit,
    }  # fmt: skip


@pytest.fixture
def at_work(client, contractor, machine, records):
    stop_machine(machine)
    client.force_login(contractor)
    return client


def says_so(page):
    return any(shown in page for shown in SHOWN)


def silent(client, addresses):
    """The pages among these that do not say that the machine is stopped."""
    return [address for address in addresses if not says_so(client.get(address).text)]


def test_the_pages_of_a_machine(at_work, machine):
    assert silent(at_work, [reverse(page, args=[machine.pk]) for page in OF_MACHINE]) == []


def test_the_pages_of_what_is_on_record_of_it(at_work, records):
    pages = [reverse(page, args=[records[one].pk]) for page, one in OF_RECORDS.items()]
    sweep = reverse("alignment:sweep", args=[records["visit"].pk, records["item"].pk])
    assert silent(at_work, [*pages, sweep]) == []


def test_once_it_may_run_none_shows_it(at_work, machine, records, owner):
    release_machine(machine, by=owner, reason="looked at")
    for page in ("machines:plan", "shop:visit"):
        assert not says_so(at_work.get(reverse(page, args=[records[OF_RECORDS[page]].pk])).text)
