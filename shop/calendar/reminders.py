"""Reminders by mail: one digest per person when there is something new, each thing told once.

How a thing is told once, however many runs there are and wherever they run: every run takes the
things not taken yet by one guarded update, so each belongs to one run, which sends them in one
mail and then notes that it did. A run whose mail fails gives them back. A run that dies between
taking and noting may or may not have sent its mail; what it took is never sent again by itself,
but counted as unsure, for a person to look at.
"""

import uuid
from dataclasses import dataclass
from datetime import timedelta

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.utils import timezone

from shop.hooks import hooks
from shop.people.models import Role, User
from shop.web.served import site_address

from .models import Proposal, ReminderSent

OVERDUE, SOON, WAITING = "Overdue", "Due soon", "Waiting for your answer"
GROUPS = (OVERDUE, SOON, WAITING)
# A run that has not noted its mail after this long is taken to have died.
DEAD_AFTER = timedelta(hours=1)


@dataclass(frozen=True)
class Reminder:
    """One thing to remind a person of; `key` tells it from every other, and never changes."""

    key: str
    group: str
    sentence: str
    url: str


@dataclass(frozen=True)
class RemindersSent:
    """What a run of reminders did: mails sent, mails that failed, and things left unsure."""

    sent: int
    failed: int
    unsure: int


def remind_everybody(now=None):
    """Send each person one digest if there is anything they were not told of yet."""
    now = now or timezone.now()
    run = uuid.uuid4()
    sent = failed = 0
    for user in _people():
        told = remind(user, run, now)
        sent += told is True
        failed += told is False
    return RemindersSent(sent, failed, _unsure(now))


def _people():
    """Those who want reminders, have an address and a desk at some shop."""
    return (
        User.objects.filter(
            is_active=True,
            wants_reminders=True,
            memberships__ended_at=None,
            memberships__role__in=[Role.OWNER, Role.CONTRACTOR],
        )
        .exclude(email="")
        .distinct()
    )


def remind(user, run, now):
    """Send one person's digest: True when it went out, False when it failed, None for no news."""
    reminders = reminders_of(user, now)
    new = _take(user, reminders, run, now)
    if not new:
        return None
    taken = ReminderSent.objects.filter(user=user, run=run, sent_at=None)
    try:
        digest(user, reminders, new).send()
    except OSError:  # smtplib's errors are OSErrors: no connection, or the server said no
        taken.update(run=None, taken_at=None)
        return False
    taken.update(sent_at=timezone.now())
    return True


def reminders_of(user, now):
    """All there is to remind a person of, told before or not."""
    return [
        reminder
        for source in hooks(settings.PLANNING_SOURCES, about="reminders")
        for reminder in source(user, now)
    ]


def _take(user, reminders, run, now):
    """The keys, of those `reminders` not taken yet, that this run has taken."""
    keys = [reminder.key for reminder in reminders]
    ReminderSent.objects.bulk_create(
        [ReminderSent(user=user, key=key) for key in keys], ignore_conflicts=True
    )
    free = ReminderSent.objects.filter(user=user, key__in=keys, run=None)
    if not free.update(run=run, taken_at=now):
        return set()
    return set(
        ReminderSent.objects.filter(user=user, run=run, sent_at=None).values_list("key", flat=True)
    )


def digest(user, reminders, new):
    """The mail: everything by group, what is new marked."""
    groups = [
        (
            group,
            [(reminder, reminder.key in new) for reminder in reminders if reminder.group == group],
        )
        for group in GROUPS
    ]
    context = {
        "user": user,
        "groups": [(group, these) for group, these in groups if these],
        "site": site_address(),
    }
    return EmailMessage(
        subject=_subject(reminders),
        body=render_to_string("shop/digest.txt", context),
        to=[user.email],
    )


def _subject(reminders):
    counts = [
        (sum(reminder.group == group for reminder in reminders), group.lower()) for group in GROUPS
    ]
    return "Sweepbook: " + ", ".join(f"{count} {words}" for count, words in counts if count)


def _unsure(now):
    return ReminderSent.objects.filter(
        run__isnull=False, sent_at=None, taken_at__lt=now - DEAD_AFTER
    ).count()


def proposals_to_answer(user, now=None):
    """Proposals of a visit that wait for this person's side; two queries."""
    found = Proposal.objects.visible_to(user).open().select_related("shop", "firm")
    roles = dict(user.memberships.current().values_list("shop", "role"))
    turn = {Proposal.State.WITH_CONTRACTOR: Role.CONTRACTOR, Proposal.State.WITH_OWNER: Role.OWNER}
    return [
        Reminder(
            f"proposal {proposal.pk} {proposal.state}",
            WAITING,
            f"{proposal.shop} and {proposal.firm}: {proposal.purpose}",
            proposal.get_absolute_url(),
        )
        for proposal in found
        if roles.get(proposal.shop_id) == turn[proposal.state]
    ]
