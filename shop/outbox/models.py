"""Mail that waits, was sent, or could not be."""

import uuid
from datetime import timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from shop.record import Record, Stays

# A claim lasts longer than any try; after it the sender is taken to have died.
CLAIMED_FOR = timedelta(minutes=10)


class OutgoingMailQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The mail that a person caused; whoever keeps the site sees all of it."""
        return self if user.is_staff else self.filter(made_by=user)

    def unsent(self):
        return self.filter(sent_at=None)

    def due(self, now):
        """What is to be tried now and nobody is at."""
        free = Q(claimed_until=None) | Q(claimed_until__lte=now)
        return self.unsent().filter(free, given_up_at=None, due_at__lte=now)

    def in_trouble(self):
        """What did not go out when it was tried."""
        return self.unsent().exclude(trouble="")


class OutgoingMail(models.Model):
    """One mail to one address.

    key: tells it from every other; it makes the Message-ID, which stays the same however often the
    mail is tried, so that whoever gets it twice is shown it once. claimed_until: until when a
    sender is at it. attached: the path of a stored file, whose SHA-256 must still be `sha256`.
    secret: it holds a link that lets somebody in; its text goes as soon as it was sent.
    """

    record_rules = Record(
        archive=Stays("what this site mails is on its way from here"),
        untrailed="it is a queue; what it tells of is trailed",
    )

    key = models.UUIDField(default=uuid.uuid4, unique=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    made_at = models.DateTimeField(default=timezone.now)
    to = models.EmailField()
    reply_to = models.EmailField(blank=True)
    subject = models.CharField(max_length=300)
    body = models.TextField(blank=True)
    attached = models.CharField(max_length=300, blank=True)
    attached_as = models.CharField(max_length=200, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)
    secret = models.BooleanField(default=False)
    due_at = models.DateTimeField(default=timezone.now)
    tries = models.PositiveSmallIntegerField(default=0)
    claimed_until = models.DateTimeField(null=True)
    trouble = models.CharField(max_length=300, blank=True)
    given_up_at = models.DateTimeField(null=True)
    sent_at = models.DateTimeField(null=True)

    objects = OutgoingMailQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        indexes = [
            models.Index(
                fields=["due_at"],
                condition=Q(sent_at=None, given_up_at=None),
                name="mail_that_waits",
            )
        ]

    def __str__(self):
        return f"{self.subject} to {self.to}"

    @property
    def state(self):
        """What became of it, in words."""
        if self.sent_at:
            return "sent"
        if self.given_up_at:
            return f"not sent: {self.trouble}"
        return f"tried again soon: {self.trouble}" if self.trouble else "on its way"
