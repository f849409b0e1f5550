"""Kinds of machine that a firm keeps for itself, besides the ones that come with the site."""

from django.db import models
from django.urls import reverse

from shop.people.models import Firm
from shop.record import Record, Stays
from shop.web.models import Entry

from .shape import read_kind


class FirmKindQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The kinds of the firms a person belongs to or works for today."""
        return self.filter(firm__in=Firm.objects.visible_to(user))


class FirmKind(Entry):
    """A kind of machine as a firm made it from a machine; `data` is what `read_kind` reads."""

    record_rules = Record(
        archive=Stays("it is the firm's, a template of no shop's machine"), has_page=True
    )

    firm = models.ForeignKey(Firm, on_delete=models.CASCADE, related_name="kinds")
    name = models.CharField(max_length=120)
    data = models.JSONField()

    objects = FirmKindQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["firm", "name"],
                name="one_kind_per_firm_and_name",
                violation_error_message="Your firm has a kind of that name already.",
            )
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("machines:kind", args=[self.slug])

    @property
    def slug(self):
        """What it is called in an address and in a form."""
        return f"own-{self.pk}"

    @property
    def kind(self):
        """It as a `MachineKind`, under the name it has now."""
        return read_kind({**self.data, "name": self.name})
