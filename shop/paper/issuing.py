"""Issuing documents: each is stored once, with its SHA-256 and a code to check it by.

A file cannot contain its own SHA-256. So a document is made twice: first without the code, whose
SHA-256 in short form is the code; then with the code printed on it, and that file is handed out and
has the SHA-256 that an uploaded file is held against.
"""

import hashlib
from dataclasses import dataclass
from functools import partial
from itertools import count

from django.core.files.base import ContentFile
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from shop.audit.head import head
from shop.people.keepers import tell_the_keepers
from shop.people.models import Shop
from shop.web.best_effort import if_it_can
from shop.web.served import absolute

from .models import Document

# Sixteen hexadecimal digits, 64 bits: two documents share one by chance in one of 10^19 cases.
CODE_DIGITS = 16
GROUP = 4
CHUNK = 64 * 1024


@dataclass(frozen=True)
class CheckMark:
    """What a document says of how it can be checked; chain: where the chain of records ended when
    it was issued, in short form, which shows later whether that was made anew or cut off."""

    address: str
    code: str
    chain: str = ""


def short_code(digest):
    """The short form of a SHA-256 in hexadecimal, such as "3F9A-21C7-0B44-9D1E"."""
    digits = digest[:CODE_DIGITS].upper()
    return "-".join(digits[n : n + GROUP] for n in range(0, CODE_DIGITS, GROUP))


def check_address(code):
    """The whole address of the page that says whether a file is the one that was issued."""
    return absolute(reverse("shop:check", args=[code]))


@transaction.atomic
def issue(build, *, shop, kind, number, at=None, **about):
    """Make a document, store it once and return its record.

    build: a function of a CheckMark, or of None for the document without its code, that returns
    the PDF's bytes. about: the `firm`, `visit`, `statement` or `quote` it belongs to.
    """
    content_sha256 = hashlib.sha256(build(None)).hexdigest()
    code = short_code(content_sha256)
    content = build(CheckMark(check_address(code), code, head().short))
    document = Document(
        shop=shop,
        kind=kind,
        number=number,
        sha256=hashlib.sha256(content).hexdigest(),
        content_sha256=content_sha256,
        code=code,
        issued_at=at or timezone.now(),
        **about,
    )
    document.file.save(document.file_name, ContentFile(content), save=False)
    document.save()
    return document


@transaction.atomic
def issue_again(build, *, shop, kind, number, **about):
    """Issue a document that may be asked for any number of times: the same content is stored once.

    build: a function of the number and a CheckMark or None. Other content under a number that was
    given out before gets that number with -2, -3 and so on.
    """
    Shop.objects.select_for_update().get(pk=shop.pk)
    for copy in count(1):
        name = number if copy == 1 else f"{number}-{copy}"
        made = partial(build, name)
        issued = Document.objects.filter(shop=shop, kind=kind, number=name).first()
        if issued is None:
            return issue(made, shop=shop, kind=kind, number=name, **about)
        if issued.content_sha256 == hashlib.sha256(made(None)).hexdigest():
            return issued


class NotAsIssued(Exception):
    """The stored file of a document is not the one that was issued."""


def issued_content(document):
    """The file of a document, held against the digest it was issued with.

    Raises FileNotFoundError where it is gone, NotAsIssued where it differs; whoever keeps the site
    is mailed of either, once.
    """
    try:
        with document.file.open() as file:
            content = file.read()
    except FileNotFoundError:
        _tell(document, "is gone")
        raise
    if hashlib.sha256(content).hexdigest() != document.sha256:
        _tell(document, "is not the one that was issued: its SHA-256 differs from the record")
        raise NotAsIssued
    return content


def _tell(document, what):
    subject = f"The file of {document} {what.split(':')[0]}"
    body = (
        f"The file {document.file.name} of {document}, {document.shop}, {what}. It is not given "
        "out. Put the right one back from a backup; `manage.py verify` names every such file.\n"
    )
    about = f"document {document.pk} {what}"
    if_it_can(lambda: tell_the_keepers(subject, body, about=about))


def is_the_issued_file(document, upload):
    """Whether an uploaded file is, byte for byte, the one that was issued."""
    digest = hashlib.sha256()
    for chunk in upload.chunks(CHUNK):
        digest.update(chunk)
    return digest.hexdigest() == document.sha256
