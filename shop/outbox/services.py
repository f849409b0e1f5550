"""Putting mail into the outbox, and sending again what could not be sent."""

import uuid

from django.db import transaction
from django.utils import timezone

from .models import OutgoingMail
from .wake import wake_the_sender


@transaction.atomic
def post(*, to, subject, body, key=None, **more):
    """Put a mail to one address into the outbox, once for each `key`; it is sent once the
    transaction around this is through, and by nobody when it fails. Returns the mail.

    more: `made_by`, `reply_to`, `secret`; `attached` (the path of a stored file), `attached_as` and
    its `sha256`.
    """
    words = " ".join(subject.split())[:300]
    given = {"to": to, "subject": words, "body": body, **more}
    mail, _made = OutgoingMail.objects.get_or_create(key=key or uuid.uuid4(), defaults=given)
    transaction.on_commit(wake_the_sender)
    return mail


def send_again(mail):
    """Let a mail that did not go out be tried from the beginning."""
    OutgoingMail.objects.unsent().filter(pk=mail.pk).update(
        due_at=timezone.now(), tries=0, given_up_at=None
    )
    wake_the_sender()


def states_of(keys):
    """{key: what became of the mail}; what was sent long ago is no longer here."""
    found = OutgoingMail.objects.filter(key__in=keys)
    return {mail.key: mail.state for mail in found}
