"""What was worked out from a shop's records, and whether they have changed since."""

from django.db import models
from django.utils import timezone

from shop.people.models import Shop
from shop.record import Record, Stays


class ChangeCounter(models.Model):
    """Something of a shop changed. Written by triggers only.

    shop_id: the shop's key, 0 for what concerns all. xact: the transaction, 0 for all those merged
    into one row; `times` adds up to what `shop.snapshots` calls a generation.
    """

    record_rules = Record(
        archive=Stays("says only that something changed here"),
        untrailed="it says only that something changed",
    )

    shop_id = models.BigIntegerField()
    xact = models.BigIntegerField()
    times = models.BigIntegerField()

    class Meta:
        db_table = "shop_stir"
        constraints = [
            models.UniqueConstraint(fields=["shop_id", "xact"], name="a_transaction_stirs_once")
        ]

    def __str__(self):
        return f"{self.shop_id}: {self.times}"


class RefreshState(models.Model):
    """That rows of some kind stand for a shop's records of one generation, on one day.

    reach: what besides the shop's own records they rest on, empty for nothing. rule: the version of
    the project that made them (`shop.snapshots.rule`). lends: names of what rows of other shops
    read of this one's records, as it was then. at: when they were worked out.
    """

    record_rules = Record(
        archive=Stays("what was worked out is worked out anew"),
        untrailed="it says how far something was worked out",
    )

    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    what = models.CharField(max_length=20)
    reach = models.CharField(max_length=64, blank=True)
    generation = models.BigIntegerField()
    day = models.DateField()
    rule = models.CharField(max_length=64, blank=True)
    lends = models.JSONField(default=list)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        db_table = "shop_workedout"
        constraints = [
            models.UniqueConstraint(
                fields=["what", "reach", "shop"], name="worked_out_once_for_each_shop"
            )
        ]

    def __str__(self):
        return f"{self.what} of {self.shop_id}"
