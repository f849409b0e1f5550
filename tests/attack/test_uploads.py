"""More bytes than were declared, or more than a page takes: counted as they come."""

import io

import pytest
from django.core.exceptions import RequestDataTooBig
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.files.uploadhandler import TemporaryFileUploadHandler
from django.http.multipartparser import MultiPartParser
from django.test import RequestFactory
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.urls import reverse

from shop.web.uploads import Counting


def test_what_is_over_the_ceiling_never_reaches_what_writes():
    written = []

    class Writer(TemporaryFileUploadHandler):
        def receive_data_chunk(self, raw_data, start):
            written.append(len(raw_data))

    most = 200_000
    file = SimpleUploadedFile("a.jpg", bytes(1_000_000))
    body = encode_multipart(BOUNDARY, {"a": file})
    request = RequestFactory().generic("POST", "/", body, MULTIPART_CONTENT)
    handlers = [Counting(most, request), Writer(request)]
    with pytest.raises(RequestDataTooBig):
        MultiPartParser(request.META, io.BytesIO(body), handlers).parse()
    assert sum(written) <= most


@pytest.mark.django_db
def test_the_refusal_says_how_much_is_taken(client, owner, shop, settings):
    settings.MOST_SENT_TO = {"machines:take_over": 100_000}
    client.force_login(owner)
    upload = SimpleUploadedFile("machine.zip", bytes(200_000))
    page = client.post(reverse("machines:take_over", args=[shop.pk]), {"file": upload})
    assert page.status_code == 413
    assert "At most 0.1 MB are taken here at once" in page.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["shop:sign_in", "shop:forgotten", "shop:home"])
def test_a_stranger_sends_no_more_than_a_form(client, name):
    upload = SimpleUploadedFile("a.bin", bytes(100_000))
    assert client.post(reverse(name), {"file": upload}).status_code == 413
