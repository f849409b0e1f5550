"""The trail of changes and the chain over those that matter as evidence."""

from django.conf import settings
from django.db import models

from shop.record import Record, Stays


class Change(models.Model):
    """One row of one table added, changed or removed. Written by triggers only, never changed.

    `record` and `within` are a table and a primary key, such as "shop_visit:12"; `within` is the
    record this one is a part of, empty without one. `before` and `after` are JSON objects by
    column: of a change only the columns that changed.
    """

    record_rules = Record(
        archive=Stays("the trail runs over the whole site; taking in is on the other's trail"),
        untrailed="it is the trail itself",
    )

    class Kind(models.TextChoices):
        ADDED = "added", "added"
        CHANGED = "changed", "changed"
        REMOVED = "removed", "removed"
        FOUND = "found", "on record when the trail began"
        MIGRATED = "migrated", "brought into a new version of the program"

    at = models.DateTimeField("when")
    who = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.DO_NOTHING,
        null=True,
        db_constraint=False,
        related_name="+",
    )
    via = models.CharField("by which program", max_length=80, blank=True)
    request_id = models.CharField(max_length=32, blank=True)
    record = models.CharField(max_length=100)
    within = models.CharField(max_length=100, blank=True)
    kind = models.CharField(max_length=8, choices=Kind)
    before = models.TextField(null=True)  # noqa: DJ001 - there was none, which is not an empty one
    after = models.TextField(null=True)  # noqa: DJ001
    chained = models.BooleanField()

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["record", "id"], name="change_by_record"),
            models.Index(
                fields=["within", "id"], condition=~models.Q(within=""), name="change_by_whole"
            ),
        ]

    def __str__(self):
        return f"{self.record} {self.kind}"


class ChainLink(models.Model):
    """A chained change's place in the chain: the SHA-256 over it and over the link before."""

    record_rules = Record(
        archive=Stays("the chain runs over the whole site and cannot be cut"),
        untrailed="it is the chain over the trail",
    )

    seq = models.BigIntegerField(primary_key=True)
    change = models.OneToOneField(
        Change, on_delete=models.DO_NOTHING, db_constraint=False, related_name="link"
    )
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["seq"]

    def __str__(self):
        return f"{self.seq}:{self.sha256}"


class ChainHead(models.Model):
    """The one row that says how far the chain goes; whoever links locks it."""

    record_rules = Record(
        archive=Stays("the chain runs over the whole site and cannot be cut"),
        untrailed="it is where the chain ends",
    )

    seq = models.BigIntegerField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="the_chain_has_one_head")
        ]

    def __str__(self):
        return f"{self.seq}:{self.sha256}"
