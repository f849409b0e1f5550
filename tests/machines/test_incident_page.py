"""An incident's page and its photos."""

import io
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from machines.incidents.models import Incident, IncidentStation
from machines.incidents.services import log_incident
from machines.register.photos import clean_photo
from machines.visit_work.services import add_machine_to_visit
from tests import factories
from tests.pages import opened as page
from tests.pages import tight


def camera_photo():
    file = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(file, "JPEG")
    return clean_photo(SimpleUploadedFile("crash.jpg", file.getvalue()))


@pytest.fixture
def incident(machine, operator):
    return log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3),
        what_hit="gang tool holder",
        hit_what="sub-spindle nose",
        severity="hard",
        offset_seen_um="127",
        offset_seen_typed="5 thou",
        broken="two inserts",
        note="Bar came out short.\nHeard a bang.",
        may_run=False,
        photos=[camera_photo()],
    )


def test_the_account_stands_as_it_was_given(client, owner, incident):
    shown = page(client, owner, incident).content.decode()
    for told in ("Gang tool holder hit sub-spindle nose", "two inserts", "Heard a bang.", "5 thou"):
        assert told in shown


def test_the_offset_seen_is_shown_in_the_readers_unit(client, owner, incident):
    assert "0.127 mm" in page(client, owner, incident).content.decode()


def test_what_was_typed_is_not_said_twice(client, owner, machine, operator):
    incident = factories.IncidentFactory(
        machine=machine, made_by=operator, offset_seen_um=30, offset_seen_typed="0.03 mm"
    )
    assert page(client, owner, incident).content.decode().count("0.03 mm") == 1


def test_the_stations_that_were_hit_are_named(client, owner, machine, incident):
    station = factories.station_of(machine, "sub-spindle")
    IncidentStation.objects.create(incident=incident, station=station)
    shown = page(client, owner, incident).content.decode()
    assert "<dt>Where</dt>" in shown
    assert tight("sub-spindle</dd>") in tight(shown)


def test_what_was_typed_is_never_markup(client, owner, machine, operator):
    incident = factories.IncidentFactory(machine=machine, made_by=operator, note="<script>x()")
    assert "<script>x()" not in page(client, owner, incident).content.decode()


def test_the_visit_it_called_for_is_linked(client, owner, incident, visit):
    add_machine_to_visit(visit, incident.machine, incident=incident)
    assert visit.get_absolute_url() in page(client, owner, incident).content.decode()


def test_a_contractor_opens_a_visit_from_it(client, contractor, owner, incident):
    link = f"{reverse('machines:open_visit', args=[incident.machine_id])}?incident={incident.pk}"
    assert link in page(client, contractor, incident).content.decode()
    assert link not in page(client, owner, incident).content.decode()


def test_no_visit_is_opened_for_a_closed_one(client, contractor, incident):
    Incident.objects.update(state=Incident.State.CLOSED)
    assert "Open a visit for it" not in page(client, contractor, incident).content.decode()


def test_a_photo_is_given_out_as_a_jpeg_and_as_nothing_else(client, operator, incident):
    client.force_login(operator)
    response = client.get(incident.photos.get().get_absolute_url())
    assert response["Content-Type"] == "image/jpeg"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert b"".join(response.streaming_content).startswith(b"\xff\xd8")


def test_a_photo_whose_file_is_gone_is_not_found(client, operator, incident):
    photo = incident.photos.get()
    Path(photo.image.path).unlink()
    client.force_login(operator)
    assert client.get(photo.get_absolute_url()).status_code == 404


def test_strangers_find_neither_the_incident_nor_its_photo(client, stranger, incident):
    assert page(client, stranger, incident).status_code == 404
    assert client.get(incident.photos.get().get_absolute_url()).status_code == 404
