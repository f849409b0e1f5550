"""What the machines app shows on a visit's page and on the first page."""

import pytest
from django.urls import reverse

from machines.drive import panels as drive_panels
from machines.drive.inspecting import inspect_belt
from machines.incidents import panels as incidents_panels
from machines.incidents.stopping import stop_machine
from machines.register import panels as register_panels
from machines.visit_work.services import add_machine_to_visit, note_findings
from shop.visits.services import correct_visit, sign_visit
from shop.web.request_memo import RequestMemo
from tests import factories
from tests.pages import text_of as page

NAMES = {"contractor": ("Ida M.", "service"), "customer": ("Tom Q.", "owner")}


@pytest.fixture
def visited(visit, machine, operator):
    incident = factories.IncidentFactory(machine=machine, made_by=operator)
    return add_machine_to_visit(visit, machine, incident=incident)


def ask(rf, person):
    request = rf.get("/")
    request.user = person
    return request


def test_a_visit_names_its_machine_incident_and_findings(client, owner, visited):
    note_findings(visited, "Housing cocked.")
    shown = page(client, owner, visited.visit)
    assert visited.incident.get_absolute_url() in shown
    assert "Housing cocked." in shown


def test_findings_are_written_by_the_contractor_alone(client, contractor, owner, visited):
    link = reverse("machines:findings", args=[visited.pk])
    assert link in page(client, contractor, visited.visit)
    assert link not in page(client, owner, visited.visit)


def test_every_belt_is_inspected_from_the_visit(client, contractor, visited):
    shown = page(client, contractor, visited.visit)
    for belt in visited.machine.belts.all():
        link = reverse("machines:inspect_belt", args=[belt.pk])
        assert f"{link}?visit={visited.visit_id}" in shown


def test_a_look_outside_the_visit_does_not_count_as_one_at_it(rf, contractor, visited, belt):
    inspect_belt(belt=belt, made_by=contractor, teeth={3: "worn"})
    panel = drive_panels.visit_belts(visited.visit, ask(rf, contractor))
    assert [look.inspection for look in panel.context["looks"]] == [None, None]


def test_a_belt_looked_at_is_corrected_not_inspected_anew(rf, contractor, visited, belt):
    done = inspect_belt(belt=belt, made_by=contractor, teeth={3: "worn"}, visit=visited.visit)
    looks = drive_panels.visit_belts(visited.visit, ask(rf, contractor)).context["looks"]
    assert {look.belt.name: look.replaces for look in looks} == {
        "jack shaft belt": None,
        "guide bushing belt": done,
    }


def test_at_a_correction_the_signed_look_is_what_is_corrected(
    rf, contractor, firm, visited, belt, settings
):
    settings.BEFORE_SIGNING = []
    done = inspect_belt(belt=belt, made_by=contractor, teeth={3: "worn"}, visit=visited.visit)
    signed = sign_visit(visited.visit, **NAMES)
    correction = correct_visit(signed, made_by=contractor, firm=firm, reason="wrong tooth")
    add_machine_to_visit(correction, visited.machine)
    looks = drive_panels.visit_belts(correction, ask(rf, contractor)).context["looks"]
    look = next(look for look in looks if look.belt == belt)
    assert (look.inspection, look.signed, look.replaces) == (None, done, done)
    assert look.signed_sentence == "1 of 60 teeth not sound: 3 worn."


def test_a_signed_visit_offers_no_work(rf, contractor, visited, settings):
    settings.BEFORE_SIGNING = []
    signed = sign_visit(visited.visit, **NAMES)
    assert not drive_panels.visit_belts(signed, ask(rf, contractor)).context["may_work"]


def test_recommendations_of_the_visit_stand_with_their_evidence(client, owner, visited, belt):
    inspection = inspect_belt(
        belt=belt, made_by=owner, teeth={3: "worn", 9: "worn"}, visit=visited.visit
    )
    shown = page(client, owner, visited.visit)
    shown = shown[shown.index("To replace") :]
    assert "this visit" in shown
    assert inspection.get_absolute_url() in shown


def test_a_visit_without_machines_shows_none_of_it(rf, contractor, visit):
    request = ask(rf, contractor)
    made = [
        incidents_panels.visit_incident,
        drive_panels.visit_belts,
        drive_panels.visit_recommendations,
    ]
    assert [panel(visit, request) for panel in made] == [None, None, None]


def test_the_first_page_puts_stopped_machines_first(rf, operator, shop):
    machines = factories.MachineFactory.create_batch(3, shop=shop)
    stop_machine(machines[2])
    shown = register_panels.home_machines(ask(rf, operator)).context["machines"]
    assert shown[0] == machines[2]


def test_the_first_page_shows_a_dozen_and_leads_to_the_rest(rf, operator, shop):
    factories.MachineFactory.create_batch(13, shop=shop)
    context = register_panels.home_machines(ask(rf, operator)).context
    assert (len(context["machines"]), context["more"]) == (12, True)


@pytest.mark.parametrize("looks", [1, 8])
def test_the_belts_of_a_visit_cost_the_same_however_often_looked_at(
    rf, contractor, visited, belt, looks, django_assert_num_queries
):
    for tooth in range(1, looks + 1):
        inspect_belt(belt=belt, made_by=contractor, teeth={tooth: "worn"}, visit=visited.visit)
    page = RequestMemo(lambda request: drive_panels.visit_belts(visited.visit, request))
    # Belts, looks, findings, belts off, what changed at the shop, the person's place there.
    with django_assert_num_queries(6):
        page(ask(rf, contractor))
