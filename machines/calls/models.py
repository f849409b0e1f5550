"""Calls of customers, as the firm that took them wrote them down."""

from django.conf import settings
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone

from machines.register.models import Machine
from shop.people.models import Firm, Role, Shop
from shop.record import Record, Stays
from shop.web.models import Entry


class CallQuerySet(models.QuerySet):
    def visible_to(self, user):
        """Those that the person's own firm took, at the shops the person comes to for it."""
        places = user.memberships.current().filter(role=Role.CONTRACTOR).order_by()
        return self.filter(Exists(places.filter(shop=OuterRef("shop"), firm=OuterRef("firm"))))

    def open(self):
        return self.filter(settled_at=None)


class Call(Entry):
    """One call: who rang, when, about which machine, what they said and what was promised; open
    until somebody says what became of it."""

    record_rules = Record(
        handover=Stays("what a shop told a firm on the phone stays with the two"),
    )

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="calls")
    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="calls")
    machine = models.ForeignKey(
        Machine, on_delete=models.PROTECT, null=True, blank=True, related_name="calls"
    )
    who = models.CharField("who rang", max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    rang_at = models.DateTimeField("when", default=timezone.now)
    says = models.TextField("what they say", max_length=2000)
    promised = models.CharField("what was promised", max_length=200, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True, editable=False)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
    )
    settled_how = models.CharField("how it was settled", max_length=200, blank=True)

    objects = CallQuerySet.as_manager()

    class Meta:
        ordering = ["-rang_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(settled_at__isnull=True, settled_by__isnull=True, settled_how="")
                | (Q(settled_at__isnull=False, settled_by__isnull=False) & ~Q(settled_how="")),
                name="a_call_is_settled_by_somebody_and_somehow",
            )
        ]

    def __str__(self):
        return f"Call of {self.who}"

    def get_absolute_url(self):
        return reverse("machines:call", args=[self.pk])

    @property
    def is_open(self):
        return self.settled_at is None
