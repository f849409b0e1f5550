"""Times during which a machine was stopped until looked at."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from shop.record import Record

from .machines import Machine


class Standstill(models.Model):
    """A time during which a machine was stopped until looked at."""

    record_rules = Record()

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="standstills")
    incident = models.ForeignKey(
        "machines.Incident",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="standstills",
    )
    began_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    reason = models.CharField("why it may run again", max_length=200, blank=True)

    class Meta:
        ordering = ["-began_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["machine"],
                condition=Q(ended_at__isnull=True),
                name="a_machine_is_stopped_only_once_at_a_time",
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("began_at")),
                name="a_standstill_does_not_end_before_it_began",
            ),
        ]

    def __str__(self):
        return f"{self.machine} stopped since {self.began_at:%Y-%m-%d}"
