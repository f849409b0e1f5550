"""What records entered at a visit have in common that can be withdrawn until it is signed."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class InForceManager(models.Manager):
    """The records of a table that nobody withdrew; all of them are in its `everything`."""

    def get_queryset(self):
        return super().get_queryset().filter(withdrawn_at__isnull=True)


class Withdrawable(models.Model):
    """Entered at a visit, and until that is signed withdrawn as a mistake, with a reason.

    `objects`, and with it what is related to other records, is without those withdrawn; they stay
    in the database, in archives and on the trail, and can be restored. A lookup along a relation,
    such as `checks__item`, goes past the manager: it has to say `withdrawn_at` itself.

    A table's `on_withdrawing` names its `shop.visits.withdrawing.Effects`.
    """

    on_withdrawing = "shop.visits.withdrawing.NONE"
    visit_path = "visit"

    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
    )
    withdrawn_why = models.CharField(
        "why it was withdrawn", max_length=200, blank=True, editable=False
    )

    class Meta:
        abstract = True

    @property
    def is_withdrawn(self):
        return self.withdrawn_at is not None

    @property
    def withdrawal_key(self):
        """What a page's address names it by."""
        return f"{self._meta.model_name}-{self.pk}"


class WithdrawableCorrection(Withdrawable):
    """The same for records that may correct another of their table.

    A correction that is withdrawn lets go of what it corrects, which then stands again;
    `withdrawn_corrects` keeps what that was.
    """

    withdrawn_corrects = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
        verbose_name="what it corrected",
    )

    class Meta:
        abstract = True


def withdrawn_whole(name):
    """The constraint that a withdrawal has a moment, a person and a reason, or none of them."""
    return models.CheckConstraint(
        condition=Q(withdrawn_at__isnull=True, withdrawn_by__isnull=True, withdrawn_why="")
        | (Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False) & ~Q(withdrawn_why="")),
        name=f"{name}_withdrawn_by_somebody_for_a_reason",
    )
