"""Entries a device kept until there was a connection: what it is told, and each of them once."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from machines.incidents.models import Incident, IncidentPhoto
from machines.incidents.services import log_incident
from machines.register.models import Standstill
from shop.web.queued import MADE_BY
from tests import hostile
from tests.factories import MembershipFactory, five_station_machine
from tests.together import together

STOPPED = {"kind": "noise", "may_run": "no", "happened_at": "2025-03-05T09:00"}


@pytest.fixture
def send(client, operator, machine):
    """Sends what a device kept, with the id it made, as the script does."""
    client.force_login(operator)
    client.raise_request_exception = False
    kept = STOPPED | {"entry_id": uuid.uuid4()}
    address = reverse("alignment:log_incident", args=[machine.pk])

    def sent(browser=client, made_by=operator, **more):
        photo = SimpleUploadedFile("crash.jpg", hostile.picture())
        headers = {MADE_BY: str(made_by.pk)}
        return browser.post(address, kept | {"photos": [photo]} | more, headers=headers)

    return sent


def test_what_is_saved_is_told_with_its_address(send):
    answer = send()
    assert answer.status_code == 200
    assert answer.json() == {"saved": Incident.objects.get().get_absolute_url()}


def test_what_the_form_refuses_comes_back_with_the_page_that_says_why(send):
    answer = send(offset_seen="about a hair")
    assert answer.status_code == 422
    assert "about a hair" in answer.text
    assert not Incident.objects.exists()


def test_whoever_is_not_signed_in_is_told_to(send):
    answer = send(browser=Client())
    assert answer.status_code == 401
    assert answer.json() == {"sign_in": reverse("shop:sign_in")}


def test_an_entry_of_somebody_else_is_left_on_the_device(send, owner):
    assert send(made_by=owner).status_code == 409
    assert not Incident.objects.exists()


def test_an_entry_for_a_machine_one_may_not_see_is_not_taken(send, operator):
    operator.memberships.update(ended_at=timezone.now())
    assert send().status_code == 404


def test_an_answer_that_never_arrived_is_asked_for_again_and_it_stays_one(send):
    first, again = send(), send()
    assert first.json() == again.json()
    assert (Incident.objects.count(), IncidentPhoto.objects.count()) == (1, 1)
    assert Standstill.objects.count() == 1


def test_a_server_that_dies_half_way_keeps_nothing_and_takes_the_whole_later(send, monkeypatch):
    """It dies after the incident and its photo were written, before the machine was stopped."""

    def die(*args, **kwargs):
        raise MemoryError("killed")

    with monkeypatch.context() as patch:
        patch.setattr("machines.incidents.services.stop_machine", die)
        assert send().status_code == 500
    assert not Incident.objects.exists()
    assert not IncidentPhoto.objects.exists()
    assert send().status_code == 200
    assert (Incident.objects.count(), IncidentPhoto.objects.count()) == (1, 1)
    assert Standstill.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_one_entry_sent_from_two_tabs_at_once_is_one_incident():
    membership = MembershipFactory()
    machine = five_station_machine(membership.shop)
    entry_id = uuid.uuid4()

    def log():
        return log_incident(
            machine=machine, made_by=membership.user, entry_id=entry_id, kind="noise",
            may_run=False, happened_at=timezone.now(),
        )  # fmt: skip

    assert [one for one in together(*[log] * 4) if isinstance(one, Exception)] == []
    assert (Incident.objects.count(), Standstill.objects.count()) == (1, 1)
