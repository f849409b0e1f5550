"""The chance that each machine has drifted out, as it was last worked out."""

from datetime import date

from django.db import models

from alignment.sheets.models import AcceptanceItem
from machines.register.models import Machine
from shop.people.models import Shop
from shop.record import WORKED_OUT


class MachineRiskQuerySet(models.QuerySet):
    def most_pressing_first(self):
        return self.order_by("state", "-weight", "by", "place", "pk")

    def with_all(self):
        """With what a row tells, in the same query."""
        return self.select_related("machine__shop", "item__station")


class MachineRisk(models.Model):
    """A machine and the chance that any of its items is out today. Worked out, never entered; see
    `shop.snapshots`.

    reach: of the machines that may lend, which differ with who looks. item: the one behind most
    of it, None where none has a forecast. weight: the chance, 0 where there is none. by: the next
    check, the last day there is where none can be told. words: what its newest check is
    worth, where that no longer counts. unknown: how many of `items` are without a
    forecast. place: shop and machine, as they are sorted.
    """

    record_rules = WORKED_OUT

    class State(models.IntegerChoices):
        """How a machine stands, the most pressing first."""

        LOOSE = 0, "knocked, or moved and not measured: no forecast covers it"
        FORECAST = 1, "forecast"
        UNKNOWN = 2, "without a forecast"

    reach = models.CharField(max_length=64)
    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="+")
    place = models.CharField(max_length=200)
    state = models.PositiveSmallIntegerField(choices=State)
    chance = models.FloatField(null=True)
    weight = models.FloatField()
    item = models.ForeignKey(AcceptanceItem, on_delete=models.CASCADE, null=True, related_name="+")
    words = models.CharField(max_length=300, blank=True)
    pressing = models.BooleanField()
    by = models.DateField()
    last_measured = models.DateField(null=True)
    items = models.PositiveSmallIntegerField()
    unknown = models.PositiveSmallIntegerField()

    objects = MachineRiskQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["machine", "reach"], name="a_risk_once_for_each_reach")
        ]
        indexes = [
            models.Index(
                fields=["reach", "state", "-weight", "by", "place"], name="risk_most_pressing_first"
            ),
        ]

    def __str__(self):
        return f"{self.machine_id}: {self.chance}"

    @property
    def next_check(self):
        return None if self.by == date.max else self.by
