"""Mailing documents, with a log of what was put into the post for whom."""

import uuid

from shop.outbox.services import post, states_of
from shop.web.entries import entered_once
from shop.web.errors import Refused

from .issuing import check_address
from .models import Sending


def send_document(document, *, to, made_by, message="", entry_id=None):
    """Mail a document to people, each by a mail of their own, and log each sending.

    to: (name, address) pairs. A form sent twice sends each mail once. Returns the log's entries.
    """
    if not to:
        raise Refused("Choose at least one person to send it to.")
    form_id = entry_id or uuid.uuid4()
    return [
        _send(
            document=document,
            to_name=name,
            to_address=address,
            made_by=made_by,
            body=_body(document, name, message),
            entry_id=uuid.uuid5(form_id, address.lower()),
        )
        for name, address in to
    ]


@entered_once(Sending)
def _send(*, entry_id, body, **log):
    """Put one mail into the outbox and log it."""
    document = log["document"]
    firm = document.firm
    post(
        key=entry_id,
        to=log["to_address"],
        made_by=log["made_by"],
        reply_to=firm.email if firm else "",
        subject=f"{str(document).capitalize()} from {firm or document.shop}",
        body=body,
        attached=document.file.name,
        attached_as=document.file_name,
        sha256=document.sha256,
    )
    return Sending.objects.create(entry_id=entry_id, **log)


def with_states(sendings):
    """The log's entries, each with `state`: what became of its mail, in words."""
    entries = list(sendings)
    states = states_of([one.entry_id for one in entries])
    for one in entries:
        one.state = f"not sent: {one.trouble}" if one.trouble else states.get(one.entry_id, "sent")
    return entries


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
