"""What a machine's meters showed, and when."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.record import Frozen, Record, Signed, visit_signed
from shop.visits.models import Visit
from shop.web.models import Entry

from .machines import Machine


class MeterReadingQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(machine__in=Machine.objects.visible_to(user))

    def counted(self):
        """Without those left out of the sums."""
        return self.filter(left_out_at__isnull=True)

    def oldest_first(self):
        return self.order_by("read_at", "pk")


class MeterReading(Entry):
    """What a counter showed at a moment; `new_meter` marks the first one of a replaced meter."""

    record_rules = Record(
        # A reading found wrong later is left out of the sums; what it showed stays as it was.
        frozen=Frozen(
            visit_signed("{row}.visit_id"),
            columns=(
                "machine_id",
                "visit_id",
                "kind",
                "read_at",
                "value",
                "new_meter",
                "made_by_id",
            ),
        ),
        signed=Signed("Meter of machine {0.machine.number}: {0}", select=("machine",)),
    )

    class Kind(models.TextChoices):
        SPINDLE_HOURS = "spindle hours", "spindle hours"
        PARTS = "parts made", "parts made"

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="meter_readings")
    visit = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="meter_readings"
    )
    kind = models.CharField(max_length=13, choices=Kind, default=Kind.SPINDLE_HOURS)
    read_at = models.DateTimeField("read when")
    value = models.DecimalField("it showed", max_digits=12, decimal_places=1)
    new_meter = models.BooleanField(
        "first reading of a new meter",
        default=False,
        help_text="Tick this when the meter was replaced or set back.",
    )

    left_out_at = models.DateTimeField(null=True, blank=True)
    left_out_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    left_out_why = models.CharField("why it does not count", max_length=120, blank=True)

    objects = MeterReadingQuerySet.as_manager()

    class Meta:
        ordering = ["-read_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["machine", "kind", "read_at"],
                condition=Q(left_out_at__isnull=True),
                name="one_reading_per_meter_and_moment",
                violation_error_message="There is a reading of this meter at that moment already.",
            ),
            models.CheckConstraint(
                condition=Q(value__gte=0),
                name="meters_do_not_show_less_than_zero",
                violation_error_message="A meter does not show less than zero.",
            ),
        ]

    def __str__(self):
        return f"{self.value:,} {self.kind}"

    @property
    def counts(self):
        return self.left_out_at is None
