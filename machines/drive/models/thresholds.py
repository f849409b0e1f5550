"""From when on a finding leads to advice: each shop's own limits, with defaults."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from machines.engineering.bearing_condition import DEFAULT_LIMITS, ZoneLimits
from shop.people.models import Shop
from shop.record import Record
from shop.web.request_memo import request_memo

COMMON_PRACTICE = "common practice, no source"


class Thresholds(models.Model):
    """One shop's limits; a shop without a row has the defaults."""

    record_rules = Record()

    class Rule(models.TextChoices):
        ONE_SIDED = "95 one-sided", "95 % one-sided (ISO 14253-1)"
        EXPANDED = "k 2", "expanded, two-sided (k = 2)"

    shop = models.OneToOneField(Shop, on_delete=models.CASCADE, related_name="thresholds")
    damaged_teeth = models.PositiveSmallIntegerField(
        "bad teeth before replacing", default=2, validators=[MinValueValidator(1)]
    )
    grown_teeth = models.PositiveSmallIntegerField(
        "newly damaged teeth before replacing",
        default=2,
        validators=[MinValueValidator(1)],
    )
    belt_age_h = models.PositiveIntegerField(
        "oldest a belt may get, in spindle hours",
        null=True,
        blank=True,
        help_text="Empty: only the age that the records of part life show to be cheapest.",
    )
    planned_cost = models.DecimalField(
        "a planned replacement costs",
        max_digits=10,
        decimal_places=2,
        default=400,
        validators=[MinValueValidator(1)],
        help_text="Part, work and the time the machine stands.",
    )
    breakdown_cost = models.DecimalField(
        "a breakdown costs",
        max_digits=10,
        decimal_places=2,
        default=2000,
        validators=[MinValueValidator(1)],
        help_text="Part, work, scrap and the time the machine stands unplanned.",
    )
    zone_a_mm_s = models.DecimalField(
        "upper limit of vibration zone A, mm/s rms",
        max_digits=5,
        decimal_places=2,
        default=DEFAULT_LIMITS.a_mm_s,
    )
    zone_b_mm_s = models.DecimalField(
        "of zone B", max_digits=5, decimal_places=2, default=DEFAULT_LIMITS.b_mm_s
    )
    zone_c_mm_s = models.DecimalField(
        "of zone C", max_digits=5, decimal_places=2, default=DEFAULT_LIMITS.c_mm_s
    )
    zone_source = models.CharField(
        "where the limits come from", max_length=200, default=DEFAULT_LIMITS.source
    )
    life_used_percent = models.PositiveSmallIntegerField(
        "share of the basic rating life used up, in %",
        default=80,
        validators=[MinValueValidator(1), MaxValueValidator(500)],
    )
    runout_growth_um = models.DecimalField(
        "run-out grown since the first look, in µm",
        max_digits=7,
        decimal_places=2,
        default=5,
        validators=[MinValueValidator(0)],
    )
    drifts_in_a_row = models.PositiveSmallIntegerField(
        "visits in a row at which a station had drifted outside",
        default=3,
        validators=[MinValueValidator(2)],
    )
    decision_rule = models.CharField(
        "decision rule of verdicts",
        max_length=12,
        choices=Rule,
        default=Rule.ONE_SIDED,
        help_text="How far inside its limits a figure must lie to be called within, and how far "
        "past them outside: 1.65 or 2 standard uncertainties. A saved check keeps its rule.",
    )
    drift_risk_percent = models.PositiveSmallIntegerField(
        "chance of having drifted outside at which to check again, in %",
        default=5,
        validators=[MinValueValidator(1), MaxValueValidator(49)],
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(zone_a_mm_s__gt=0, zone_b_mm_s__gt=F("zone_a_mm_s"))
                & Q(zone_c_mm_s__gt=F("zone_b_mm_s")),
                name="zone_limits_rise_from_a_to_c",
                violation_error_message="The limits of the zones must rise from A to C.",
            )
        ]

    def __str__(self):
        return f"thresholds of {self.shop}"

    @classmethod
    def of(cls, shop):
        """The shop's thresholds, unsaved defaults where it has set none; runs SQL, once for a page
        that only reads and for all the rules that advise."""
        return request_memo(("thresholds", shop.pk), lambda: cls.of_shops([shop.pk])[shop.pk])

    @classmethod
    def of_shops(cls, pks):
        """{shop pk: its thresholds}, unsaved defaults where it has set none; one query."""
        found = {one.shop_id: one for one in cls.objects.filter(shop__in=pks)}
        return {pk: found.get(pk) or cls(shop_id=pk) for pk in pks}

    @property
    def drift_risk(self):
        """The chance as a share of one."""
        return self.drift_risk_percent / 100

    @property
    def zone_limits(self):
        return ZoneLimits(
            float(self.zone_a_mm_s),
            float(self.zone_b_mm_s),
            float(self.zone_c_mm_s),
            self.zone_source,
        )
