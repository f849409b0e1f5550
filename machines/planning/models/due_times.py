"""What is due, as it was last worked out for each shop."""

from datetime import date

from django.db import models

from machines.engineering.due import Due
from machines.register.models import Machine
from shop.people.models import Shop
from shop.record import WORKED_OUT
from shop.visits.models import Visit

from .plans import Plan, PlanClosing


class DueTimeQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(shop__in=Shop.objects.visible_to(user))

    def next_times(self):
        """The time each plan falls due next, without those that follow."""
        return self.filter(number=0)

    def most_pressing_first(self):
        return self.order_by("rank", "by", "place", "pk")

    def with_all(self):
        """With what an item tells, in the same query."""
        return self.select_related(
            "plan", "machine__shop", "closing", "visit__shop", "plan__machine", "plan__shop"
        )


class DueTime(models.Model):
    """One time a plan falls due on a machine. Worked out, never entered; see `shop.snapshots`.

    number: 0 for the next time, 1 for the one after if that is done on its day. by: the day, or the
    last there is where none can be told. rank: of its bucket today, the
    most pressing first. place: shop and machine, as they are sorted.
    """

    record_rules = WORKED_OUT

    shop = models.ForeignKey(Shop, on_delete=models.CASCADE, related_name="+")
    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="+")
    machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="+")
    number = models.PositiveSmallIntegerField()
    by = models.DateField()
    rank = models.PositiveSmallIntegerField()
    place = models.CharField(max_length=200)
    kind = models.CharField(max_length=15)
    reason = models.CharField(max_length=200)
    earliest = models.DateField(null=True)
    latest = models.DateField(null=True)
    passed = models.BooleanField()
    closing = models.ForeignKey(PlanClosing, on_delete=models.CASCADE, null=True, related_name="+")
    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, null=True, related_name="+")

    objects = DueTimeQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["machine", "plan", "number"], name="each_time_due_stands_once"
            )
        ]
        indexes = [
            # All that sorting takes, so that no row but those shown is read.
            models.Index(
                fields=["shop", "number", "rank", "by", "place"],
                name="due_next_most_pressing_first",
            ),
            models.Index(fields=["shop", "by"], name="due_of_a_shop_by_day"),
        ]

    def __str__(self):
        return f"{self.plan_id} on {self.machine_id} by {self.by}"

    @property
    def due(self):
        """As the arithmetic gave it."""
        return Due(
            None if self.by == date.max else self.by,
            self.reason,
            self.kind,
            self.earliest,
            self.latest,
            self.passed,
        )
