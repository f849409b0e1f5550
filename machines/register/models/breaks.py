"""Breaks in a machine's service."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from shop.record import Record, Stays
from shop.web.models import Entry

from .machines import Machine


class ServiceBreak(Entry):
    """A time during which a machine was out of service: sold, scrapped or mothballed.

    `made_by` is who took it out; the break is open until somebody puts the machine back.
    """

    record_rules = Record(
        handover=Stays("whether a machine is in service is for the shop that has it")
    )

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="breaks")
    out_on = models.DateField("taken out of service on")
    reason = models.CharField("why it was taken out", max_length=200)
    back_on = models.DateField("back in service on", null=True, blank=True)
    back_reason = models.CharField("why it was put back", max_length=200, blank=True)
    back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    back_at = models.DateTimeField("when that was entered", null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-out_on", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["machine"],
                condition=Q(back_on__isnull=True),
                name="a_machine_is_out_of_service_once_at_a_time",
            ),
            models.CheckConstraint(
                condition=Q(back_on__isnull=True) | Q(back_on__gte=F("out_on")),
                name="a_machine_is_not_back_before_it_was_out",
            ),
            models.CheckConstraint(
                condition=Q(back_on__isnull=True, back_by__isnull=True, back_at__isnull=True)
                | Q(back_on__isnull=False, back_by__isnull=False, back_at__isnull=False),
                name="a_machine_is_put_back_by_somebody",
            ),
        ]

    def __str__(self):
        return f"{self.machine} out of service on {self.out_on:%Y-%m-%d}"
