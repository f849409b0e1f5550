"""Invitations by mail, to a role at a shop or into a firm."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from shop.record import Record, Stays
from shop.web.models import Entry

from .people import Firm, Role, Shop


class InvitationQuerySet(models.QuerySet):
    def visible_to(self, user):
        """Those to the person's shops and firms."""
        return self.filter(
            Q(shop__in=Shop.objects.visible_to(user)) | Q(firm__in=Firm.objects.visible_to(user))
        )

    def open(self, now=None):
        """Those that can still be accepted."""
        return self.filter(accepted_at=None, revoked_at=None, expires_at__gt=now or timezone.now())


class Invitation(Entry):
    """Whoever holds its link may take the place it names, once.

    To a shop it names a role; a contractor brings a firm along when accepting. The link's token is
    signed, not kept (`shop.people.inviting`).
    """

    record_rules = Record(
        archive=Stays("a way into this site; whoever is to come elsewhere is invited there"),
        seen_by="shop.people.access.invites",
    )

    email = models.EmailField("mail address")
    shop = models.ForeignKey(
        Shop, on_delete=models.PROTECT, null=True, blank=True, related_name="invitations"
    )
    role = models.CharField(max_length=12, choices=Role, blank=True)
    firm = models.ForeignKey(
        Firm, on_delete=models.PROTECT, null=True, blank=True, related_name="invitations"
    )
    is_admin = models.BooleanField("looks after the firm's people", default=False)
    expires_at = models.DateTimeField()
    mailed_at = models.DateTimeField(null=True, blank=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="accepted_invitations",
    )
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = InvitationQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(shop__isnull=False, firm__isnull=True, is_admin=False)
                & Q(role__in=Role.values)
                | Q(shop__isnull=True, firm__isnull=False, role=""),
                name="an_invitation_is_to_a_role_at_a_shop_or_into_a_firm",
            ),
            models.CheckConstraint(
                condition=Q(accepted_at__isnull=True, accepted_by__isnull=True)
                | Q(accepted_at__isnull=False, accepted_by__isnull=False, revoked_at__isnull=True),
                name="an_invitation_is_accepted_by_somebody_or_taken_back",
            ),
        ]

    def __str__(self):
        return f"{self.place}, for {self.email}"

    @property
    def place(self):
        """The place it is to, in words."""
        if self.firm:
            return f"{self.firm}, looking after its people" if self.is_admin else f"{self.firm}"
        return f"{self.get_role_display()} at {self.shop}"

    @property
    def brings_firm(self):
        """Whether whoever accepts it comes from a firm of their own."""
        return self.role == Role.CONTRACTOR
