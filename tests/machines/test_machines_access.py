"""Who may open which page of the machines app: one table."""

import pytest
from django.urls import reverse

from machines.drive.inspecting import inspect_belt
from machines.incidents.services import log_incident
from machines.visit_work.services import add_machine_to_visit
from tests import factories

EVERYBODY = {"owner": 200, "operator": 200, "contractor": 200, "stranger": 404}
DESK = {"owner": 200, "operator": 403, "contractor": 200, "stranger": 404}
CONTRACTOR = {"owner": 403, "operator": 403, "contractor": 200, "stranger": 404}

PAGES = {
    "machine": EVERYBODY,
    "history": EVERYBODY,
    "changes": EVERYBODY,
    "retire": DESK,
    "downtime": EVERYBODY,
    "issue_history": DESK,
    "label": EVERYBODY,
    "release": DESK,
    "open_visit": CONTRACTOR,
    "incident": EVERYBODY,
    "inspect_belt": EVERYBODY,
    "inspection": EVERYBODY,
    "inspection_picture": EVERYBODY,
    "recommendation": EVERYBODY,
    "findings": CONTRACTOR,
    "drive": EVERYBODY,
    "belt": EVERYBODY,
    "bearing": EVERYBODY,
    "assembly": EVERYBODY,
    "new_belt": DESK,
    "new_bearing": DESK,
    "new_assembly": DESK,
    "edit_belt": DESK,
    "edit_bearing": DESK,
    "edit_assembly": DESK,
    "rebuild": DESK,
    "inspect_bearing": EVERYBODY,
    "fit_bearing": DESK,
    "fit_belt": DESK,
    "recommend": DESK,
    "pin_photo": EVERYBODY,
    "thresholds": EVERYBODY,
    "bring": EVERYBODY,
}


@pytest.fixture
def address(machine, visit, operator):
    """The address of each page, of records of one stopped machine."""
    incident = log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3),
        what_hit="drill",
        hit_what="collet",
        severity="hard",
        may_run=False,
    )
    belt = machine.belts.first()
    bearing = factories.BearingFactory(machine=machine)
    assembly = factories.AssemblyFactory(machine=machine)
    inspection = inspect_belt(belt=belt, made_by=operator, teeth={3: "cracked"})
    records = {
        "incident": incident,
        "inspect_belt": belt,
        "inspection": inspection,
        "inspection_picture": inspection,
        "recommendation": machine.recommendations.get(),
        "belt": belt,
        "edit_belt": belt,
        "bearing": bearing,
        "edit_bearing": bearing,
        "assembly": assembly,
        "edit_assembly": assembly,
        "rebuild": assembly,
        "inspect_bearing": bearing,
        "fit_bearing": bearing,
        "fit_belt": belt,
        "pin_photo": inspection,
        "thresholds": machine.shop,
        "bring": visit,
        "findings": add_machine_to_visit(visit, machine, incident=incident),
    }
    return {
        name: reverse(f"machines:{name}", args=[records.get(name, machine).pk]) for name in PAGES
    }


@pytest.mark.parametrize(
    ("name", "role", "status"),
    [(name, role, status) for name, table in PAGES.items() for role, status in table.items()],
)
def test_a_page_opens_for_those_it_is_for(client, request, address, name, role, status):
    client.force_login(request.getfixturevalue(role))
    assert client.get(address[name]).status_code == status


@pytest.mark.parametrize("name", PAGES)
def test_nobody_opens_a_page_without_signing_in(client, address, name):
    assert client.get(address[name]).url.startswith(reverse("shop:sign_in"))


@pytest.mark.parametrize(
    "name",
    [
        "machine",
        "history",
        "changes",
        "downtime",
        "label",
        "inspection",
        "inspection_picture",
    ],
)
def test_a_page_that_only_shows_takes_nothing_in(client, owner, address, name):
    client.force_login(owner)
    assert client.post(address[name]).status_code == 405


def test_a_member_who_left_finds_nothing(client, owner, address):
    owner.memberships.update(ended_at=factories.at(9))
    client.force_login(owner)
    assert client.get(address["machine"]).status_code == 404
