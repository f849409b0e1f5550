"""Sends a form as a browser would, and undoes whatever it did."""

from urllib.parse import urlencode

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client

from tests.fuzz.pages import SHOWN_AGAIN, Page

TOO_MUCH = 413


class Sender:
    """One person at a browser; every answer's effect on the database is taken back."""

    def __init__(self, user):
        self.client = Client()
        self.client.force_login(user)

    def get(self, address, query=()):
        """`query`: name to value."""
        asked = urlencode(dict(query), encoding="utf-8", errors="surrogatepass")
        with transaction.atomic():
            answer = self.client.get(f"{address}?{asked}")
            transaction.set_rollback(True)
        return answer

    def post(self, address, sent, files=(), *, fragment=False):
        """`sent`: name to list of values; `files`: name to (file name, type, bytes)."""
        data = {name: [_bytes(value) for value in values] for name, values in sent.items()}
        for name, (file_name, kind, content) in dict(files).items():
            data[name] = SimpleUploadedFile(file_name or "x", content, kind)
        headers = {"HX-Request": "true"} if fragment else {}
        with transaction.atomic():
            answer = self.client.post(address, data, headers=headers)
            transaction.set_rollback(True)
        return answer


def _bytes(text):
    """As it goes over the wire; half a surrogate goes as no valid UTF-8."""
    return text.encode("utf-8", "surrogatepass")


def not_kept(form, sent, answer):
    """Names of boxes that a refusing page shows without what was typed into them."""
    page = Page(form.page, answer.content.decode())
    lost = []
    for name in form.names:
        kinds = {one.kind for one in form.fields if one.name == name}
        boxes = page.boxes.get(name, [])
        if not kinds <= SHOWN_AGAIN or not boxes or name not in sent:
            continue
        shown = [_plain(box.value) for box in boxes]
        lost += [name for typed in sent[name] if _plain(typed) not in shown]
    return lost


def _plain(text):
    """Text as it can come back through a page: line ends alike, no character HTML cannot hold."""
    text = text.encode("utf-8", "surrogatepass").decode("utf-8", "replace")
    return "".join(text.replace("\x00", "�").split())
