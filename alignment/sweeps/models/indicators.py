"""The indicators a firm measures with."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.lengths import TypedLength, format_length
from shop.people.models import Firm, Role
from shop.record import Named, Record


class IndicatorQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The indicators of the firms a person works for today."""
        firms = user.memberships.current().filter(role=Role.CONTRACTOR).values("firm")
        return self.filter(firm__in=firms)

    def in_use(self):
        return self.filter(retired=False)

    def for_visit(self, visit):
        """What may have been used at a visit: the firm's, and whatever the visit it corrects
        used, though it was retired since."""
        used = Q(sweeps__check_record__visit__in=[visit.pk, visit.corrects_id or visit.pk])
        return self.filter(Q(firm=visit.firm_id, retired=False) | used).distinct()


class Indicator(models.Model):
    """A dial or lever indicator; what a sweep used of it is copied to the sweep."""

    record_rules = Record(
        # The firm's, as far as a sweep of the shop's was taken with them. What a sweep used of its
        # indicator stands in the sweep, so with a machine it stays.
        archive=Named(by=(("firm", "serial"),)),
        has_page=True,
    )

    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="indicators")
    name = models.CharField(max_length=60, help_text="What you call it, such as: lever 0.8 mm.")
    serial = models.CharField("serial number", max_length=40)
    resolution_um = models.DecimalField(max_digits=14, decimal_places=4)
    resolution_typed = models.CharField(max_length=40)
    error_um = models.DecimalField(max_digits=14, decimal_places=4)
    error_typed = models.CharField(max_length=40)
    error_travel_um = models.DecimalField(
        max_digits=14,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="The travel that may bring the stated error each time; empty where that is "
        "stated for the whole range.",
    )
    error_travel_typed = models.CharField(max_length=40, blank=True)
    range_um = models.DecimalField(
        max_digits=14,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="The whole travel that its dial can show; empty where that is not known.",
    )
    range_typed = models.CharField(max_length=40, blank=True)
    unit = models.CharField(max_length=2, choices=[("in", "in"), ("mm", "mm"), ("um", "µm")])
    calibrated_on = models.DateField("last calibrated", null=True, blank=True)
    calibration_due = models.DateField(null=True, blank=True)
    retired = models.BooleanField("no longer in use", default=False)

    objects = IndicatorQuerySet.as_manager()

    class Meta:
        ordering = ["retired", "name", "serial"]
        constraints = [
            models.UniqueConstraint(
                fields=["firm", "serial"],
                name="one_indicator_per_firm_and_serial",
                violation_error_message="Your firm already has an indicator with this serial "
                "number.",
            ),
            models.CheckConstraint(
                condition=Q(resolution_um__gt=0),
                name="an_indicator_resolves_something",
                violation_error_message="The resolution must be above zero.",
            ),
            models.CheckConstraint(
                condition=Q(error_um__gte=0),
                name="a_stated_error_is_not_negative",
                violation_error_message="The stated error is a size; expected zero or more.",
            ),
            models.CheckConstraint(
                condition=Q(error_travel_um__isnull=True) | Q(error_travel_um__gt=0),
                name="a_stated_error_grows_over_some_travel",
                violation_error_message="The travel of the stated error must be above zero.",
            ),
            models.CheckConstraint(
                condition=Q(range_um__isnull=True) | Q(range_um__gt=0),
                name="an_indicator_travels_somewhere",
                violation_error_message="The range must be above zero.",
            ),
            models.CheckConstraint(
                condition=Q(calibrated_on__isnull=True)
                | Q(calibration_due__isnull=True)
                | Q(calibration_due__gte=F("calibrated_on")),
                name="a_calibration_falls_due_after_it_was_made",
                violation_error_message="The calibration falls due before it was made.",
            ),
        ]

    def __str__(self):
        return f"{self.name}, {self.serial}"

    def get_absolute_url(self):
        return reverse("alignment:indicator", args=[self.pk])

    @property
    def division(self):
        """What one division of its dial is, as a `TypedLength`."""
        text = format_length(self.resolution_um, self.unit, with_unit=True)
        return TypedLength(self.resolution_um, self.unit, text)

    def overdue_on(self, day):
        """Whether its calibration had run out by a day."""
        return self.calibration_due is not None and self.calibration_due < day
