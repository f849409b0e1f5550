"""Logging incidents, stopping machines and letting them run again."""

import uuid
from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone

from machines.incidents import services as incidents_services
from machines.incidents import stopping
from machines.incidents.models import Incident
from machines.register.models import Machine, Standstill
from machines.visit_work import services as visit_work_services
from shop.visits.services import note_come_back, sign_visit
from shop.web.errors import Refused


@pytest.fixture
def account(machine, operator):
    """What an operator tells of a crash after which the machine stands."""
    return {
        "machine": machine,
        "made_by": operator,
        "happened_at": timezone.now() - timedelta(minutes=20),
        "what_hit": "drill holder",
        "hit_what": "guide bushing nut",
        "severity": Incident.Severity.HARD,
        "may_run": False,
    }


def test_a_crash_stops_the_machine_from_the_moment_it_happened(account, machine):
    incidents_services.log_incident(**account)
    assert Machine.objects.get(pk=machine.pk).stopped_since == account["happened_at"]


def test_a_touch_after_which_it_may_run_stops_nothing(account, machine):
    incidents_services.log_incident(**{**account, "may_run": True})
    assert not Machine.objects.get(pk=machine.pk).is_stopped


def test_an_incident_in_the_future_is_refused(account):
    account["happened_at"] = timezone.now() + timedelta(minutes=5)
    with pytest.raises(Refused, match="lies in the future"):
        incidents_services.log_incident(**account)
    assert not Incident.objects.exists()


def test_an_incident_by_a_clock_a_minute_ahead_happened_now(account):
    account["happened_at"] = timezone.now() + timedelta(minutes=1)
    assert incidents_services.log_incident(**account).happened_at <= timezone.now()


def test_an_incident_sent_twice_is_one_incident_and_one_standstill(account):
    entry_id = uuid.uuid4()
    first = incidents_services.log_incident(**account, entry_id=entry_id)
    assert incidents_services.log_incident(**account, entry_id=entry_id) == first
    assert (Incident.objects.count(), Standstill.objects.count()) == (1, 1)


def test_a_second_crash_leaves_a_stopped_machine_stopped_since_the_first(account, machine):
    incidents_services.log_incident(**account)
    incidents_services.log_incident(**{**account, "happened_at": timezone.now()})
    assert machine.standstills.get().began_at == account["happened_at"]


def test_photos_are_kept_with_the_incident(account):
    photos = [ContentFile(b"jpeg one", name="a.jpg"), ContentFile(b"jpeg two", name="b.jpg")]
    incident = incidents_services.log_incident(**account, photos=photos)
    assert {photo.image.read() for photo in incident.photos.all()} == {b"jpeg one", b"jpeg two"}


def test_releasing_a_machine_says_who_when_and_why(account, machine, contractor):
    incidents_services.log_incident(**account)
    stopping.release_machine(machine, by=contractor, reason=" swept, nothing moved ")
    stop = machine.standstills.get()
    assert (stop.ended_by, stop.reason) == (contractor, "swept, nothing moved")
    assert not Machine.objects.get(pk=machine.pk).is_stopped


def test_an_incident_counts_as_looked_at_once_the_machine_is_released(account, machine, contractor):
    incident = incidents_services.log_incident(**account)
    stopping.release_machine(machine, by=contractor, reason="swept")
    incident.refresh_from_db()
    assert incident.state == Incident.State.LOOKED_AT


def test_a_machine_is_not_released_without_a_reason(account, machine, contractor):
    incidents_services.log_incident(**account)
    with pytest.raises(Refused, match="Say why"):
        stopping.release_machine(machine, by=contractor, reason="  ")
    assert Machine.objects.get(pk=machine.pk).is_stopped


def test_a_running_machine_cannot_be_released(machine, contractor):
    with pytest.raises(Refused, match="not stopped"):
        stopping.release_machine(machine, by=contractor, reason="why not")


def test_a_released_machine_can_be_stopped_anew(account, machine, contractor):
    incidents_services.log_incident(**account)
    stopping.release_machine(machine, by=contractor, reason="swept")
    stopping.stop_machine(machine)
    assert machine.standstills.count() == 2


def test_the_database_keeps_a_machine_from_being_stopped_twice_at_once(machine):
    stopping.stop_machine(machine)
    with pytest.raises(IntegrityError), transaction.atomic():
        Standstill.objects.create(machine=machine, began_at=timezone.now())


@pytest.fixture
def crash_visit(account, visit, settings):
    """An open visit that was called for by a crash."""
    settings.BEFORE_SIGNING = []
    incident = incidents_services.log_incident(**account)
    visited = visit_work_services.add_machine_to_visit(visit, account["machine"], incident=incident)
    visit_work_services.note_findings(visited, "Housing over by 19 µm.")
    return visit


def _sign(visit):
    sign_visit(visit, contractor=("Ida M.", "service"), customer=("Tom Q.", "owner"))


def test_a_crash_is_closed_when_its_visit_is_signed_and_the_machine_may_run(
    crash_visit, machine, contractor
):
    stopping.release_machine(machine, by=contractor, reason="realigned")
    _sign(crash_visit)
    assert Incident.objects.get().state == Incident.State.CLOSED


def test_a_crash_whose_machine_still_stands_is_looked_at_only(crash_visit):
    _sign(crash_visit)
    assert Incident.objects.get().state == Incident.State.LOOKED_AT


def test_a_crash_is_closed_when_the_machine_is_released_after_the_visit(
    crash_visit, machine, contractor
):
    _sign(crash_visit)
    stopping.release_machine(machine, by=contractor, reason="the belt came")
    assert Incident.objects.get().state == Incident.State.CLOSED


def test_a_crash_with_something_to_come_back_for_stays_open(crash_visit, machine, contractor):
    note_come_back(crash_visit, "the sub-spindle waits for a collet")
    stopping.release_machine(machine, by=contractor, reason="runs without the sub-spindle")
    _sign(crash_visit)
    assert Incident.objects.get().state == Incident.State.LOOKED_AT


def test_signing_closes_no_incident_that_the_visit_was_not_called_for(
    crash_visit, machine, account, contractor
):
    other = incidents_services.log_incident(**account)
    stopping.release_machine(machine, by=contractor, reason="realigned")
    _sign(crash_visit)
    other.refresh_from_db()
    assert other.state == Incident.State.LOOKED_AT
