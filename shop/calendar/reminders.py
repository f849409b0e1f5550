"""Reminders by mail: one digest per person when there is something new, each thing told once.

How a thing is told once, however many runs there are and wherever they run: a run locks the person,
takes what they were not told yet, and puts the mail into the outbox, in one transaction.
"""

from dataclasses import dataclass

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone

from shop.hooks import hooks
from shop.outbox.services import post
from shop.people.models import Role, User
from shop.web.served import site_address

from .models import Proposal, ReminderSent

OVERDUE, SOON, WAITING = "Overdue", "Due soon", "Waiting for your answer"
GROUPS = (OVERDUE, SOON, WAITING)


@dataclass(frozen=True)
class Reminder:
    """One thing to remind a person of; `key` tells it from every other, and never changes."""

    key: str
    group: str
    sentence: str
    url: str


def remind_everybody(now=None):
    """Mail each person one digest if there is anything they were not told of yet; returns how many
    mails were put into the outbox."""
    now = now or timezone.now()
    return sum(remind(user, now) for user in _people())


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


def remind(user, now):
    """Mail one person's digest, and say whether there was one."""
    reminders = reminders_of(user, now)
    if not reminders:
        return False
    with transaction.atomic():
        new = _take(user, reminders, now)
        if new:
            body = digest(user, reminders, new)
            post(to=user.email, subject=_subject(reminders), body=body, made_by=user)
    return bool(new)


def reminders_of(user, now):
    """All there is to remind a person of, told before or not."""
    return [
        reminder
        for source in hooks(settings.PLANNING_SOURCES, about="reminders")
        for reminder in source(user, now)
    ]


def _take(user, reminders, now):
    """The keys, of those `reminders` the person was not told of, that are told now."""
    User.objects.select_for_update().get(pk=user.pk)
    keys = {reminder.key for reminder in reminders}
    told = ReminderSent.objects.filter(user=user, key__in=keys)
    new = keys - set(told.values_list("key", flat=True))
    ReminderSent.objects.bulk_create(
        ReminderSent(user=user, key=key, sent_at=now) for key in sorted(new)
    )
    return new


def digest(user, reminders, new):
    """The mail's text: everything by group, what is new marked."""
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
    return render_to_string("shop/digest.txt", context)


def _subject(reminders):
    counts = [
        (sum(reminder.group == group for reminder in reminders), group.lower()) for group in GROUPS
    ]
    return "Sweepbook: " + ", ".join(f"{count} {words}" for count, words in counts if count)


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
