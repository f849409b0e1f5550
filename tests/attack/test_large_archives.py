"""A small file that unpacks to very many rows: refused by counting, before anybody waits for it."""

import hashlib
import io
import time
import tracemalloc

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from machines.register.handover import LIMITS, hand_over, one_machine, take_over
from shop.records.packing import Packer
from shop.web.errors import Refused

pytestmark = pytest.mark.django_db
ROWS = 300_000
MB = 1024 * 1024


def many_rows():
    """An archive of very many machines."""
    file = io.BytesIO()
    packer = Packer(file)
    line = b'{"id": %d, "note": "' + hashlib.sha256(b"x").hexdigest().encode() + b'"}\n'
    packer.add("records/machines.machine.jsonl", [line % n for n in range(1, ROWS)])
    packer.finish(kind=one_machine().kind, version=one_machine().version, rows={})
    file.seek(0)
    return file


@pytest.fixture
def refusal(shop):
    def said(file):
        with pytest.raises(Refused) as refused:
            take_over(file, shop=shop)
        return str(refused.value)

    return said


def test_it_is_refused_by_the_first_row_too_many_in_little_memory(refusal, monkeypatch):
    from shop.records.archive import reading
    from shop.records.archive.reading import ArchivedRow

    file = many_rows()
    # Each row would pass: what is counted must be enough.
    monkeypatch.setattr(reading, "_row", lambda _scope, _model, said: ArchivedRow(said["id"], {}))
    tracemalloc.start()
    began = time.monotonic()
    with CaptureQueriesContext(connection) as asked:
        assert f"more than {LIMITS.rows:,} rows" in refusal(file)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 60 * MB
    assert time.monotonic() - began < 60
    assert not [one for one in asked if "INSERT" in one["sql"] or "SAVEPOINT" in one["sql"]]


def test_it_is_refused_by_what_its_records_unpack_to(refusal, monkeypatch):
    monkeypatch.setattr(
        "machines.register.handover.LIMITS",
        type(LIMITS)(total_bytes=LIMITS.total_bytes, record_bytes=MB, rows=LIMITS.rows),
    )
    assert "at most 1,048,576 are taken here" in refusal(many_rows())


def test_the_page_says_it_in_words(client, owner, shop):
    client.force_login(owner)
    upload = SimpleUploadedFile("machine.zip", many_rows().getvalue())
    page = client.post(reverse("machines:take_over", args=[shop.pk]), {"file": upload})
    assert page.status_code == 200
    assert "is no JSON" not in page.content.decode()
    assert page.context["form"].errors["file"]


def test_an_honest_machine_is_far_from_the_limits(machine):
    file = io.BytesIO()
    rows = hand_over(machine, file)
    assert sum(rows.values()) * 100 < LIMITS.rows
