"""What is too large is refused before any of it lies on the disk."""

import http.client
import os

import pytest

from tests.factories import PASSWORD

from .sites import Client

pytestmark = pytest.mark.server
GB = 1024**3
CHUNK = bytes(64 * 1024)


@pytest.fixture
def temporary(site, tmp_path):
    """The folder in which the site's server keeps what comes in."""
    folder = tmp_path / "temporary"
    folder.mkdir()
    site.more = {"TMPDIR": str(folder)}
    return folder


def declare(site, path, size, cookies=""):
    """Say that so many bytes come, send few of them; (status of the answer)."""
    connection = http.client.HTTPConnection(site.address, timeout=30)
    connection.putrequest("POST", path)
    connection.putheader("Content-Length", str(size))
    connection.putheader("Content-Type", "multipart/form-data; boundary=x")
    connection.putheader("Cookie", cookies)
    connection.endheaders()
    connection.send(b'--x\r\nContent-Disposition: form-data; name="photos"; filename="a"\r\n\r\n')
    connection.send(CHUNK)
    answer = connection.getresponse()
    connection.close()
    return answer.status


def test_what_is_declared_too_large_is_refused_unread(site, seeded, temporary):
    with site.served():
        operator = Client(site)
        operator.sign_in("operator", PASSWORD)
        page = f"/machines/{seeded[1]['machine']}/incidents/new/"
        assert declare(site, page, GB, operator.cookies) == 413
        assert declare(site, page, GB) == 413
        assert declare(site, "/sign-in/", GB) == 413
        assert declare(site, "/check/ABCD/", GB) == 413
        assert os.listdir(temporary) == []


def test_a_photo_of_usual_size_is_still_taken(site, seeded, temporary):
    from .conftest import a_photo

    with site.served():
        operator = Client(site)
        operator.sign_in("operator", PASSWORD)
        fields = {
            "kind": "noise",
            "may_run": "yes",
            "happened_at": "2025-03-05T14:20",
            "stations": seeded[1]["stations"],
        }
        # A file whose end is no picture: 5 MB go through the disk, and away again.
        photo = a_photo() + bytes(5 * 1024 * 1024)
        page = f"/machines/{seeded[1]['machine']}/incidents/new/"
        assert operator.post(page, fields, photo=photo).status == 302
        assert os.listdir(temporary) == []
