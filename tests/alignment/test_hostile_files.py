"""Photos of an incident and scans of a sheet that are not what they say: refused, never run."""

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import HealthCheck, given, settings

from alignment.sheets.models import SheetScan
from alignment.sheets.scans import clean_scan
from machines.incidents.models import Incident, IncidentPhoto
from tests import hostile

HIT = {"kind": "noise", "may_run": "yes", "happened_at": "2025-03-05T09:00"}
REFUSED = (
    "sheet.pdf is neither a PDF nor a picture that can be read; expected PDF, JPEG, PNG or WebP.",
    "sheet.pdf is a PDF that breaks off; make the scan again.",
)
WRONG = hostile.BOMBS | hostile.NO_PICTURES


@pytest.fixture
def log(client, operator, machine):
    """Logs an incident with a file as its photo."""
    client.force_login(operator)

    def send(content, name="crash.jpg", content_type="image/jpeg"):
        photo = SimpleUploadedFile(name, content, content_type)
        address = reverse("alignment:log_incident", args=[machine.pk])
        return client.post(address, HIT | {"photos": [photo]})

    return send


@pytest.mark.parametrize("what", WRONG)
def test_an_incident_with_a_photo_that_is_none_says_so_at_the_photos(log, what):
    page = log(WRONG[what])
    assert page.status_code == 200
    assert "can be read" in page.context["form"].errors["photos"][0]
    assert not Incident.objects.exists()


def test_a_photo_that_is_also_a_page_is_given_out_as_a_plain_picture(log, client):
    """Whatever it was called and said to be, a browser gets a JPEG that it may not guess about."""
    log(hostile.picture() + hostile.HTML, "crash.html", "text/html")
    given_out = client.get(reverse("machines:photo", args=[IncidentPhoto.objects.get().pk]))
    assert given_out["Content-Type"] == "image/jpeg"
    assert given_out["X-Content-Type-Options"] == "nosniff"
    assert given_out["Content-Disposition"].endswith('.jpg"')
    assert hostile.SCRIPT not in b"".join(given_out.streaming_content)


def kind_or_refusal(content):
    """What kind of scan a file was taken in as, else the words in which it was refused."""
    try:
        return clean_scan(SimpleUploadedFile("sheet.pdf", content))[1]
    except ValidationError as refusal:
        return refusal.messages[0]


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(hostile.damaged())
def test_a_scan_is_taken_in_or_refused_in_words(content):
    assert kind_or_refusal(content) in (*SheetScan.Kind, *REFUSED)


@pytest.mark.parametrize("what", WRONG)
def test_a_scan_that_is_neither_pdf_nor_picture_is_refused(what):
    with pytest.raises(ValidationError, match="neither a PDF nor a picture"):
        clean_scan(SimpleUploadedFile("sheet.png", WRONG[what]))


def test_the_place_a_scan_was_taken_is_not_kept():
    file, _kind = clean_scan(SimpleUploadedFile("sheet.jpg", hostile.with_a_place()))
    assert b"a maker of cameras" not in file.read()
