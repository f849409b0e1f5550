"""How often something happened of late, where it may happen only so often."""

from django.db import models

from shop.record import Record, Stays


class Tally(models.Model):
    """How often one thing was asked for since a moment; `shop.people.rate_limit` counts and
    forgets.

    `what` is a keyed digest: nobody reads from it which addresses strangers typed.
    """

    record_rules = Record(
        archive=Stays("how often something was asked for here of late"),
        untrailed="it counts what was asked for of late, and is forgotten",
    )

    what = models.CharField(max_length=64, unique=True)
    since = models.DateTimeField(db_index=True)
    count = models.PositiveIntegerField(default=0)

    class Meta:
        verbose_name_plural = "tallies"

    def __str__(self):
        return f"{self.count} since {self.since:%Y-%m-%d %H:%M}"
