"""What a visit is charged with, until a statement is issued."""

from django.db import models
from django.db.models import Q

from shop.billing.money import Amount, line_net
from shop.people.models import billed_to
from shop.record import Frozen, Record
from shop.visits.models import Visit
from shop.web.models import Entry

from .prices import Rate, TaxCategory


class ChargeQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(billed_to(user, shop="visit__shop", firm="visit__firm"))

    def billed(self):
        """Those that count: not left out."""
        return self.filter(left_out=False)


class Charge(Entry):
    """One line: hours, travel, a part, something fixed, or a discount.

    `source` names what a line was filled in from; such a line follows its source until somebody
    edits it. A discount is an amount (`price`) or a percentage of the lines taxed like it.
    """

    record_rules = Record(
        # What stands on a statement is not charged otherwise, until credit notes took it all back.
        frozen=Frozen(
            "EXISTS (SELECT 1 FROM shop_statement s WHERE s.visit_id = {row}.visit_id AND s.sealed"
            " AND s.kind = 'statement' AND NOT EXISTS"
            " (SELECT 1 FROM shop_statement n WHERE n.credits_id = s.id AND n.closes))"
        ),
        seen_by="shop.visits.access.concerns_money",
    )

    class Kind(models.TextChoices):
        LABOUR = "labour", "labour"
        TRAVEL = "travel", "travel"
        PART = "part", "part"
        FIXED = "fixed", "fixed item"
        DISCOUNT = "discount", "discount"

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="charges")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.FIXED)
    source = models.CharField(max_length=80, blank=True, editable=False)
    text = models.CharField("what", max_length=300)
    number = models.CharField("part number", max_length=40, blank=True)
    quantity = models.DecimalField(max_digits=10, decimal_places=3, default=1)
    unit = models.CharField(max_length=2, choices=Rate.Unit, default=Rate.Unit.PIECE)
    price = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    percent = models.DecimalField(
        "discount, %", max_digits=5, decimal_places=2, null=True, blank=True
    )
    tax = models.ForeignKey(TaxCategory, on_delete=models.PROTECT, related_name="charges")
    edited = models.BooleanField(default=False, editable=False)
    left_out = models.BooleanField(default=False, editable=False)

    objects = ChargeQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "source"],
                condition=~Q(source=""),
                name="one_charge_per_visit_and_source",
            ),
            models.CheckConstraint(
                condition=Q(quantity__gt=0),
                name="a_charge_is_for_more_than_nothing",
                violation_error_message="The quantity must be above zero.",
            ),
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0),
                name="no_price_is_negative",
                violation_error_message="A price is not negative; enter a discount instead.",
            ),
            models.CheckConstraint(
                condition=Q(percent__isnull=True)
                | Q(kind="discount", percent__gt=0, percent__lte=100, price__isnull=True),
                name="only_a_discount_has_a_percentage",
                violation_error_message="A discount is an amount or 0 to 100 %, not both.",
            ),
        ]

    def __str__(self):
        return self.text

    @property
    def is_discount(self):
        return self.kind == self.Kind.DISCOUNT

    @property
    def is_priced(self):
        return self.price is not None or self.percent is not None

    @property
    def amount(self):
        """The line's net and its tax; None while it has no price of its own."""
        if self.price is None:
            return None
        return Amount(line_net(self.quantity, self.price), self.tax.tax)
