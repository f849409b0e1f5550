"""What a service firm charges: its tax categories and its rates."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from shop.billing.money import Tax
from shop.people.models import Firm
from shop.record import Named, Record, Stays


class TaxCategory(models.Model):
    """One of the firm's tax categories, with its EN 16931 code (UNTDID 5305)."""

    record_rules = Record(archive=Named(by=(("firm", "name"),)))

    class Code(models.TextChoices):
        STANDARD = "S", "taxed"
        ZERO = "Z", "zero rated"
        EXEMPT = "E", "exempt"
        REVERSE = "AE", "reverse charge: the customer owes the tax"
        OUTSIDE = "O", "outside the scope of the tax"

    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="tax_categories")
    name = models.CharField(max_length=60, help_text="As printed, such as: VAT 20 %.")
    code = models.CharField(max_length=2, choices=Code, default=Code.STANDARD)
    percent = models.DecimalField(
        "rate, %",
        max_digits=5,
        decimal_places=2,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))],
    )
    reason = models.CharField(
        "reason when no tax is due", max_length=120, blank=True, help_text="Printed beside it."
    )
    is_usual = models.BooleanField("the one used unless another is chosen", default=False)

    class Meta:
        ordering = ["-is_usual", "-percent", "name"]
        verbose_name_plural = "tax categories"
        constraints = [
            models.UniqueConstraint(fields=["firm", "name"], name="one_tax_category_per_name"),
            models.UniqueConstraint(
                fields=["firm"],
                condition=Q(is_usual=True),
                name="one_usual_tax_category_per_firm",
                violation_error_message="Another category is the usual one.",
            ),
            models.CheckConstraint(
                condition=Q(code="S", percent__gt=0) | (~Q(code="S") & Q(percent=0)),
                name="only_what_is_taxed_has_a_rate",
                violation_error_message="A taxed category has a rate above zero, any other 0.",
            ),
            models.CheckConstraint(
                condition=~Q(code__in=["E", "AE", "O"]) | ~Q(reason=""),
                name="no_tax_needs_its_reason",
                violation_error_message="Say why no tax is due; it stands on the statement.",
            ),
        ]

    def __str__(self):
        return self.name

    @property
    def tax(self):
        """The category as the arithmetic takes it."""
        return Tax(self.code, self.percent)


class Rate(models.Model):
    """What the firm asks for one hour, one distance or one fixed thing."""

    record_rules = Record(
        archive=Stays("a firm's prices are its own; what was charged stands in the charges")
    )

    class Kind(models.TextChoices):
        NORMAL = "normal", "labour, normal hours"
        OVERTIME = "overtime", "labour, overtime"
        WEEKEND = "weekend", "labour, weekend"
        TRAVEL_TIME = "travel time", "travel by the hour"
        TRAVEL_DISTANCE = "travel distance", "travel by distance"
        FIXED = "fixed", "fixed price"

    class Unit(models.TextChoices):
        HOUR = "h", "hour"
        KILOMETRE = "km", "kilometre"
        MILE = "mi", "mile"
        PIECE = "pc", "piece"

    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="rates")
    kind = models.CharField("what for", max_length=15, choices=Kind)
    name = models.CharField("as printed", max_length=120)
    unit = models.CharField("for one", max_length=2, choices=Unit)
    price = models.DecimalField(
        max_digits=12, decimal_places=4, validators=[MinValueValidator(Decimal(0))]
    )
    tax = models.ForeignKey(TaxCategory, on_delete=models.PROTECT, related_name="rates")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["firm", "kind"],
                condition=~Q(kind="fixed"),
                name="one_rate_of_a_kind",
                violation_error_message="There is a rate of that kind already; change it instead.",
            ),
            models.UniqueConstraint(fields=["firm", "name"], name="one_rate_per_name"),
            models.CheckConstraint(condition=Q(price__gte=0), name="no_rate_is_negative"),
            models.CheckConstraint(
                condition=Q(kind__in=["normal", "overtime", "weekend", "travel time"], unit="h")
                | Q(kind="travel distance", unit__in=["km", "mi"])
                | Q(kind="fixed"),
                name="hours_by_the_hour_and_distance_by_length",
                violation_error_message="Hours are charged by the hour, distance by km or mile.",
            ),
        ]

    def __str__(self):
        return self.name
