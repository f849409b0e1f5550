"""The computer's clock is set back, and its disk takes nothing: what somebody said is kept."""

from datetime import timedelta

import pytest
from django.core.files.storage import FileSystemStorage
from django.urls import reverse
from django.utils import timezone

from machines.incidents.models import Incident, IncidentPhoto, WaitingPhoto
from machines.incidents.photos import store_all_waiting
from machines.incidents.stopping import stop_machine
from tests.running.conftest import a_photo

pytestmark = pytest.mark.django_db


def test_a_machine_is_released_also_when_the_clock_was_set_back(client, owner, machine, clock):
    stop_machine(machine, by=owner)
    clock.shift(timedelta(hours=-3))
    client.force_login(owner)
    said = {"reason": "the collet was tightened"}
    assert client.post(reverse("machines:release", args=[machine.pk]), said).status_code == 302
    stop = machine.standstills.get()
    assert stop.ended_at == stop.began_at


@pytest.fixture
def full_disk(monkeypatch):
    """A media folder that takes nothing until the fixture's value is called."""

    def fail(self, name, content):
        raise OSError(28, "No space left on device")

    context = pytest.MonkeyPatch()
    context.setattr(FileSystemStorage, "_save", fail)
    yield context.undo
    context.undo()


@pytest.fixture
def stopped_with_a_photo(client, operator, machine, full_disk):
    from django.core.files.uploadedfile import SimpleUploadedFile

    client.force_login(operator)
    answer = client.post(
        reverse("alignment:log_incident", args=[machine.pk]),
        {
            "kind": "hit",
            "severity": "hard",
            "may_run": "no",
            "happened_at": f"{timezone.now():%Y-%m-%dT%H:%M}",
            "photos": SimpleUploadedFile("a.jpg", a_photo()),
        },
    )
    assert answer.status_code == 302, answer.content.decode()
    return Incident.objects.get()


def test_a_stop_is_saved_without_the_photo_that_cannot_be_written(stopped_with_a_photo, machine):
    assert machine.standstills.filter(ended_at=None).exists()
    assert not IncidentPhoto.objects.exists()
    assert WaitingPhoto.objects.get().incident == stopped_with_a_photo


def test_the_page_says_that_a_photo_waits_and_shows_it_once_it_is_stored(
    client, stopped_with_a_photo, full_disk
):
    page = stopped_with_a_photo.get_absolute_url()
    assert "1 photo could not be stored yet" in client.get(page).content.decode()
    assert WaitingPhoto.objects.count() == 1
    full_disk()
    assert IncidentPhoto.objects.count() == 0
    shown = client.get(page).content.decode()
    assert "could not be stored" not in shown
    assert IncidentPhoto.objects.get().get_absolute_url() in shown
    assert IncidentPhoto.objects.get().image.read()[:2] == b"\xff\xd8"


def test_what_waits_is_stored_by_night_too(stopped_with_a_photo, full_disk):
    full_disk()
    store_all_waiting()
    assert not WaitingPhoto.objects.exists()
    assert IncidentPhoto.objects.count() == 1
