"""Scans of acceptance sheets: known by their content, given out as downloads."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from alignment.sheets.models import SheetScan
from tests.pages import tight

PDF = b"%PDF-1.4\n1 0 obj<<>>endobj\ntrailer<<>>\n%%EOF\n"


def picture(kind="PNG", size=(40, 30)):
    out = io.BytesIO()
    Image.new("RGB", size, "white").save(out, kind)
    return out.getvalue()


@pytest.fixture
def sheet(machine):
    return machine.sheets.get()


@pytest.fixture
def attach(at_work, sheet):
    """Sends a file as the scan of the sheet."""

    def send(content, name="sheet.pdf", **more):
        data = {"scan": SimpleUploadedFile(name, content), **more}
        return at_work.post(reverse("alignment:new_scan", args=[sheet.pk]), data)

    return send


def download(client, scan):
    return client.get(reverse("alignment:sheet_scan", args=[scan.pk]))


def test_a_pdf_comes_back_byte_for_byte(attach, at_work):
    attach(PDF)
    assert b"".join(download(at_work, SheetScan.objects.get()).streaming_content) == PDF


def test_a_picture_is_made_anew_as_a_jpeg(attach):
    attach(picture(), "sheet.png")
    scan = SheetScan.objects.get()
    with Image.open(scan.file) as stored:
        assert (scan.kind, stored.format, stored.size) == ("image/jpeg", "JPEG", (40, 30))


def test_a_large_scan_stays_fine_enough_to_read(attach):
    attach(picture(size=(2480, 3508)), "sheet.png")
    with Image.open(SheetScan.objects.get().file) as stored:
        assert max(stored.size) == 2340


def test_it_is_given_out_as_a_download_that_no_browser_guesses_about(attach, at_work):
    attach(PDF)
    response = download(at_work, SheetScan.objects.get())
    assert response["Content-Disposition"].startswith("attachment")
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Content-Type"] == "application/pdf"


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        (b"<html><script>alert(1)</script></html>", "sheet.pdf", "neither a PDF nor a picture"),
        (b"%PDF-1.4 and then nothing", "sheet.pdf", "breaks off"),
        (picture()[:50], "sheet.png", "neither a PDF nor a picture"),
        (b"MZ\x90", "sheet.jpg", "neither a PDF nor a picture"),
    ],
)
def test_a_file_that_is_not_what_it_says_is_refused(attach, content, name, said):
    assert said in attach(content, name).text
    assert not SheetScan.objects.exists()


def test_a_file_that_is_too_large_is_refused(attach, settings):
    settings.MAX_PHOTO_BYTES = 30
    assert "at most" in attach(PDF).text


def test_a_scan_sent_twice_is_attached_once(attach):
    for _ in range(2):
        attach(PDF, entry_id="0b2ffb3e-6a4e-4f0c-9df0-6a7d7e7f0a12")
    assert SheetScan.objects.count() == 1


def test_the_sheet_names_its_scans(attach, at_work, sheet):
    attach(PDF)
    assert tight("Download scan 1, PDF") in tight(at_work.get(sheet.get_absolute_url()).text)


def test_a_stranger_does_not_find_the_scan(attach, client, stranger):
    attach(PDF)
    client.force_login(stranger)
    assert download(client, SheetScan.objects.get()).status_code == 404


def test_an_operator_reads_but_attaches_nothing(attach, client, operator, sheet):
    attach(PDF)
    client.force_login(operator)
    assert download(client, SheetScan.objects.get()).status_code == 200
    assert client.post(reverse("alignment:new_scan", args=[sheet.pk])).status_code == 403


def test_a_file_that_is_gone_is_not_a_server_error(attach, at_work):
    attach(PDF)
    scan = SheetScan.objects.get()
    scan.file.storage.delete(scan.file.name)
    assert download(at_work, scan).status_code == 404
