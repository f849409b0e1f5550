"""From a logged incident to a closed one: who looked, what was found, who was told."""

import uuid

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from alignment.incidents.services import log_incident_at
from machines.drive.signing_blockers import parts_not_looked_at
from machines.incidents import services as incidents_services
from machines.incidents import stopping
from machines.incidents.follow_up import close_incident, look_at_incident, tick_line
from machines.incidents.models import CheckLine, Incident, IncidentStep
from machines.visit_work import services as visit_work_services
from shop.visits.services import correct_visit, note_come_back, sign_visit
from shop.web.errors import Refused
from tests import factories
from tests.post import posted


@pytest.fixture
def crash(machine, operator):
    """A hard hit after which the machine stands."""
    return log_incident_at(
        machine=machine,
        stations=[factories.station_of(machine, "sub-spindle")],
        made_by=operator,
        happened_at=timezone.now(),
        severity="hard",
        may_run=False,
    )


def post(client, person, incident, **said):
    client.force_login(person)
    return client.post(incident.get_absolute_url(), {"found": ""} | said)


def test_looking_at_an_incident_says_who_and_when(client, owner, crash):
    post(client, owner, crash, look="yes", found="nozzle bent")
    step = IncidentStep.objects.get()
    assert (step.state, step.made_by, step.found) == ("looked at", owner, "nozzle bent")
    assert Incident.objects.get().state == Incident.State.LOOKED_AT


def test_closing_demands_what_was_found(client, owner, crash):
    response = post(client, owner, crash, close="yes")
    assert "Say what was found" in response.content.decode()
    assert Incident.objects.get().state == Incident.State.LOGGED


def test_closing_keeps_what_was_found(client, contractor, crash):
    post(client, contractor, crash, close="yes", found="nothing moved")
    assert IncidentStep.objects.get(state="closed").found == "nothing moved"
    assert Incident.objects.get().state == Incident.State.CLOSED


def test_a_step_sent_twice_is_one_step(client, owner, crash):
    entry_id = str(uuid.uuid4())
    for _ in range(2):
        post(client, owner, crash, close="yes", found="nothing moved", entry_id=entry_id)
    assert IncidentStep.objects.count() == 1


def test_a_closed_incident_is_not_closed_again(crash, owner):
    close_incident(crash, made_by=owner, found="nothing")
    with pytest.raises(Refused, match="closed already"):
        close_incident(crash, made_by=owner, found="something")


def test_an_incident_is_looked_at_once(crash, owner):
    look_at_incident(crash, made_by=owner)
    with pytest.raises(Refused, match="looked at already"):
        look_at_incident(crash, made_by=owner)


def test_an_operator_logs_but_does_not_close(client, operator, crash):
    assert post(client, operator, crash, close="yes", found="fine").status_code == 403
    assert "Close it" not in client.get(crash.get_absolute_url()).content.decode()


def test_a_stranger_finds_no_incident_to_close(client, stranger, crash):
    assert post(client, stranger, crash, close="yes", found="fine").status_code == 404


def test_the_database_closes_nothing_without_what_was_found(crash, owner):
    with pytest.raises(IntegrityError), transaction.atomic():
        IncidentStep.objects.create(incident=crash, state="closed", made_by=owner)


def test_the_page_tells_every_step(client, owner, crash):
    look_at_incident(crash, made_by=owner, found="nozzle bent")
    close_incident(crash, made_by=owner, found="nozzle replaced")
    client.force_login(owner)
    shown = client.get(crash.get_absolute_url()).content.decode()
    assert shown.index("nozzle bent") < shown.index("nozzle replaced")


@pytest.fixture
def called_for(crash, visit, machine, settings):
    """The machine taken up at a visit that the crash called for."""
    settings.BEFORE_SIGNING = []
    return visit_work_services.add_machine_to_visit(visit, machine, incident=crash)


def sign(visited):
    sign_visit(visited.visit, contractor=("A", "service"), customer=("B", "owner"))


def test_a_signed_visit_without_findings_leaves_the_incident_to_be_closed(
    called_for, contractor, machine
):
    stopping.release_machine(machine, by=contractor, reason="swept")
    sign(called_for)
    assert Incident.objects.get().state == Incident.State.LOOKED_AT


def test_a_signed_visit_closes_its_incident_with_the_findings(called_for, contractor, machine):
    visit_work_services.note_findings(called_for, "Sub-spindle over by 31 µm.")
    stopping.release_machine(machine, by=contractor, reason="realigned")
    sign(called_for)
    assert IncidentStep.objects.get(state="closed").found == "Sub-spindle over by 31 µm."


def test_something_to_come_back_for_keeps_it_open(called_for, contractor, machine):
    visit_work_services.note_findings(called_for, "Sub-spindle over by 31 µm.")
    note_come_back(called_for.visit, "the collet is on order")
    stopping.release_machine(machine, by=contractor, reason="runs without it")
    sign(called_for)
    assert Incident.objects.get().state == Incident.State.LOOKED_AT


@pytest.fixture
def reachable_owner(owner):
    owner.email = "owner@works.example"
    owner.save()
    return owner


def test_the_owner_is_mailed_when_a_crash_stops_the_machine(
    machine, operator, reachable_owner, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        incident = incidents_services.log_incident(
            machine=machine,
            made_by=operator,
            happened_at=timezone.now(),
            place="sub-spindle",
            severity="hard",
            may_run=False,
        )
    (sent,) = posted()
    assert sent.to == ["owner@works.example"]
    assert sent.subject == f"Machine {machine} is stopped"
    assert operator.name in sent.body
    assert sent.body.rstrip().endswith(incident.get_absolute_url())


def test_nobody_is_mailed_while_the_machine_may_run(
    machine, operator, reachable_owner, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        incidents_services.log_incident(
            machine=machine,
            made_by=operator,
            happened_at=timezone.now(),
            severity="touch",
            may_run=True,
        )
    assert posted() == []


def test_an_operator_s_stop_is_mailed_and_the_owner_s_own_is_not(
    client, machine, operator, reachable_owner, django_capture_on_commit_callbacks
):
    url = reverse("machines:stop", args=[machine.pk])
    for person, letters in ((reachable_owner, 0), (operator, 1)):
        machine.standstills.all().delete()
        client.force_login(person)
        with django_capture_on_commit_callbacks(execute=True):
            client.post(url)
        assert len(posted()) == letters


def test_owners_of_other_shops_and_former_owners_are_not_mailed(
    machine, operator, reachable_owner, stranger, django_capture_on_commit_callbacks
):
    stranger.email = "stranger@works.example"
    stranger.save()
    reachable_owner.memberships.update(ended_at=timezone.now())
    with django_capture_on_commit_callbacks(execute=True):
        stopping.stop_machine(machine, by=operator)
    assert posted() == []


def test_a_mail_server_that_is_down_stops_nothing(
    machine, operator, reachable_owner, settings, django_capture_on_commit_callbacks
):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    with django_capture_on_commit_callbacks(execute=True):
        stopping.stop_machine(machine, by=operator)
    assert machine.standstills.count() == 1


def tick(client, person, line, found="sound"):
    client.force_login(person)
    return client.post(reverse("machines:check_line", args=[line.pk]), {"found": found})


def test_a_ticked_line_says_who_looked_and_what_was_found(client, contractor, called_for):
    line = called_for.check_lines.filter(what="part").first()
    tick(client, contractor, line)
    line.refresh_from_db()
    assert (line.found, line.done_by) == ("sound", contractor)


def test_only_the_contractor_ticks_the_check_list(client, owner, stranger, called_for):
    line = called_for.check_lines.filter(what="part").first()
    assert tick(client, owner, line).status_code == 403
    assert tick(client, stranger, line).status_code == 404


def test_a_signed_check_list_takes_no_more_ticks(called_for, contractor):
    line = called_for.check_lines.filter(what="part").first()
    sign(called_for)
    with pytest.raises(Refused, match="was signed"):
        tick_line(line, by=contractor)


def test_parts_nobody_looked_at_are_lacking_before_signing(called_for, contractor):
    (lack,) = parts_not_looked_at(called_for.visit)
    assert called_for.check_lines.filter(what="part").first().subject in lack.sentence
    for line in called_for.check_lines.filter(what="part"):
        tick_line(line, by=contractor)
    assert parts_not_looked_at(called_for.visit) == []


def test_a_correction_carries_no_check_list(called_for, contractor, firm):
    sign(called_for)
    called_for.visit.refresh_from_db()
    correction = correct_visit(called_for.visit, made_by=contractor, firm=firm, reason="wrong bar")
    visit_work_services.bring_corrected_machines(correction)
    assert not CheckLine.objects.filter(visited__visit=correction).exists()


def test_a_machine_without_a_chain_has_no_check_list_and_its_page_says_so(
    client, owner, visit, shop
):
    bare = factories.MachineFactory(shop=shop)
    incident = factories.IncidentFactory(machine=bare)
    visited = visit_work_services.add_machine_to_visit(visit, bare, incident=incident)
    assert not visited.check_lines.exists()
    client.force_login(owner)
    assert (
        "no chain of stations on record" in client.get(incident.get_absolute_url()).content.decode()
    )
