"""What a firm keeps about a shop that it serves, for its own eyes."""

from django.db import models

from shop.people.models import Firm, Shop
from shop.record import Record, Stays

from .prices import TaxCategory


class CustomerQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(firm__in=Firm.objects.visible_to(user))


class Customer(models.Model):
    """A firm's notes on a shop, and the tax category it is charged by."""

    record_rules = Record(
        archive=Stays("what a firm keeps about a shop is for its own eyes"), part_of=("firm",)
    )

    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="customers")
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="customers")
    notes = models.TextField(
        blank=True, max_length=2000, help_text="For the firm alone: the shop does not see them."
    )
    tax = models.ForeignKey(
        TaxCategory,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="customers",
        verbose_name="tax category",
    )

    objects = CustomerQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["firm", "shop"], name="a_firm_notes_a_shop_once")
        ]

    def __str__(self):
        return f"{self.shop}, customer of {self.firm}"
