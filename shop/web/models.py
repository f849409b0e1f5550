"""What every entered record has in common."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone

from shop.record import Record, Stays


class Entry(models.Model):
    """A record somebody entered: who, when, and an id made where it was typed.

    `entry_id` comes from the form, so a form sent twice makes one record.
    """

    entry_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", verbose_name="by"
    )
    made_at = models.DateTimeField("when", default=timezone.now)

    class Meta:
        abstract = True


class SentForm(models.Model):
    """That a form was sent and taken, and where its answer led to."""

    record_rules = Record(
        archive=Stays("says only that a form was sent here; what it made goes"),
        untrailed="it says only that a form was sent; what the form made is trailed",
    )

    entry_id = models.UUIDField()
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE)
    sent_at = models.DateTimeField(default=timezone.now)
    led_to = models.CharField(max_length=300)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["entry_id", "sent_by"], name="a_form_is_taken_once_from_one_person"
            )
        ]

    def __str__(self):
        return str(self.entry_id)
