"""Mailing documents, with a log of what went to whom."""

import uuid
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage

from shop.web.entries import entered_once
from shop.web.errors import Refused
from shop.web.wording import one_line

from .issuing import check_address
from .models import Sending

MOST_TROUBLE = 200


def send_document(document, *, to, made_by, message="", entry_id=None):
    """Mail a document to people, each by a mail of their own, and log each sending.

    to: (name, address) pairs. A mail that could not be handed over is logged with what went wrong;
    the others go out all the same. A form sent twice sends each mail once. Returns the log's
    entries.
    """
    if not to:
        raise Refused("Choose at least one person to send it to.")
    with document.file.open() as file:
        content = file.read()
    form_id = entry_id or uuid.uuid4()
    return [
        _send(
            _mail(document, content, name, address, message),
            document=document,
            to_name=name,
            to_address=address,
            made_by=made_by,
            entry_id=uuid.uuid5(form_id, address.lower()),
        )
        for name, address in to
    ]


@entered_once(Sending)
def _send(mail, *, entry_id, **log):
    """Hand one mail over and log it."""
    trouble = ""
    try:
        mail.send()
    except (SMTPException, OSError) as error:
        trouble = f"{type(error).__name__}: {error}"[:MOST_TROUBLE]
    return Sending.objects.create(trouble=trouble, entry_id=entry_id, **log)


def _mail(document, content, name, address, message):
    firm = document.firm
    return EmailMessage(
        subject=one_line(f"{str(document).capitalize()} from {firm or document.shop}"),
        body=_body(document, name, message),
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[address],
        reply_to=[firm.email] if firm and firm.email else None,
        attachments=[(document.file_name, content, "application/pdf")],
    )


def _body(document, name, message):
    parts = [
        f"Good day {name}," if name else "Good day,",
        message.strip(),
        f"{str(document).capitalize()} is attached as {document.file_name}.",
        f"To check that a file is the one issued:\n{check_address(document.code)}"
        if document.code
        else "",
        f"{document.firm.name}\n{document.firm.phone}".strip() if document.firm else "",
    ]
    return "\n\n".join(part for part in parts if part)
