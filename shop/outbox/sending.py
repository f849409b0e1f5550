"""The one who sends: takes a mail by one guarded update, hands it over, and notes that it went.

Whoever dies between handing over and noting leaves a claim that runs out; the mail is then handed
over once more under the same Message-ID (RFC 5322, 3.6.4), by which it is known as the same one.
"""

import hashlib
import logging
import time
from dataclasses import dataclass
from datetime import timedelta
from email.utils import parseaddr
from smtplib import SMTPRecipientsRefused, SMTPResponseException

from django.conf import settings
from django.core.files.storage import default_storage
from django.core.mail import EmailMessage
from django.db import DatabaseError
from django.db.models import F
from django.utils import timezone

from .models import CLAIMED_FOR, OutgoingMail

logger = logging.getLogger("sweepbook.mail")
# How long after each try the next one comes; after the last one it is left to a person.
PAUSES = [timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 180, 360, 720, 1440)]
NOTED_WITHIN_TRIES = 5


class NotTheStoredFile(Exception):
    """What is to be attached is gone, or is not what was stored."""


@dataclass
class Sent:
    """What a round of sending did: mails sent, to be tried again, and given up."""

    sent: int = 0
    waiting: int = 0
    given_up: int = 0


def send_due():
    """Send whatever is due, one after the other; returns what became of it. Outside a transaction
    of anybody's: a claim must be seen by others before the mail is handed over."""
    outcome, now = Sent(), timezone.now()
    while (mail := _claim(now)) is not None:
        trouble, final = _hand_over(mail)
        if not trouble:
            _note(mail, sent_at=timezone.now(), trouble="", **({"body": ""} if mail.secret else {}))
            outcome.sent += 1
            continue
        final = final or mail.tries > len(PAUSES)
        logger.warning("mail %s was not sent: %s", mail.pk, trouble)
        later = {"given_up_at": timezone.now()} if final else {"due_at": _next_try(mail)}
        _note(mail, trouble=trouble, **later)
        outcome.given_up += final
        outcome.waiting += not final
    return outcome


def _claim(now):
    """Take the next mail that is due, None when there is none; nobody else has it meanwhile."""
    due = OutgoingMail.objects.due(now)
    for pk in due.order_by("due_at", "pk").values_list("pk", flat=True)[:20]:
        mine = due.filter(pk=pk).update(
            claimed_until=timezone.now() + CLAIMED_FOR, tries=F("tries") + 1
        )
        if mine:
            return OutgoingMail.objects.get(pk=pk)
    return None


def _hand_over(mail):
    """(what went wrong, whether trying again is of no use); ("", False) when it went out."""
    try:
        _message(mail).send()
    except NotTheStoredFile as error:
        return str(error), True
    except (OSError, ValueError) as error:  # smtplib's errors are OSErrors
        return f"{type(error).__name__}: {error}"[:300], _is_refused_for_good(error)
    return "", False


def _is_refused_for_good(error):
    """Whether the server said no for good (RFC 5321, 4.2.1: a reply that begins with 5)."""
    if isinstance(error, SMTPRecipientsRefused):
        return all(code >= 500 for code, _said in error.recipients.values())
    if isinstance(error, SMTPResponseException):
        return 500 <= error.smtp_code < 600
    return isinstance(error, ValueError)


def _next_try(mail):
    return timezone.now() + PAUSES[mail.tries - 1]


def _note(mail, **what):
    """Write down what became of it and let go; a database that is busy is asked again."""
    for left in reversed(range(NOTED_WITHIN_TRIES)):
        try:
            OutgoingMail.objects.filter(pk=mail.pk).update(claimed_until=None, **what)
            return
        except DatabaseError:
            if not left:
                raise
            time.sleep(1)


def _message(mail):
    site = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    message = EmailMessage(
        subject=mail.subject,
        body=mail.body,
        to=[mail.to],
        reply_to=[mail.reply_to] if mail.reply_to else None,
        headers={"Message-ID": f"<{mail.key}@{site}>"},
    )
    if mail.attached:
        message.attach(mail.attached_as, _stored(mail), "application/pdf")
    return message


def _stored(mail):
    """The file to attach; raises NotTheStoredFile where it is not what was issued."""
    try:
        with default_storage.open(mail.attached) as file:
            content = file.read()
    except FileNotFoundError as error:
        raise NotTheStoredFile(f"The file {mail.attached_as} is gone.") from error
    if hashlib.sha256(content).hexdigest() != mail.sha256:
        raise NotTheStoredFile(f"The file {mail.attached_as} is not the one that was issued.")
    return content
