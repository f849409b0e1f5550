"""Devices that a shop's people share at the machines, and the PINs they sign in with there."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.record import Record, Stays
from shop.web.models import Entry

from .people import Shop, User


class SharedDeviceQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(shop__in=Shop.objects.visible_to(user))

    def allowed(self):
        """Those that were not taken back."""
        return self.filter(revoked_at__isnull=True)


class SharedDevice(Entry):
    """A device its shop's owner allowed. It is set up with a code that works once, and known from
    then on by a secret in its browser; of both only a digest is kept."""

    record_rules = Record(
        archive=Stays("a device knows this site by a secret; it is set up anew elsewhere"),
        left_out={
            "code_sha256": "the digest of a secret",
            "secret_sha256": "the digest of a secret",
            "used_at": "using a device changes nothing",
        },
    )

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="shared_devices")
    name = models.CharField(
        "name of the device", max_length=60, help_text="Such as: tablet at the bar loaders."
    )
    code_sha256 = models.CharField(max_length=64, blank=True, editable=False)
    code_until = models.DateTimeField(null=True, blank=True, editable=False)
    secret_sha256 = models.CharField(
        max_length=64, null=True, blank=True, unique=True, editable=False
    )
    set_up_at = models.DateTimeField(null=True, blank=True, editable=False)
    used_at = models.DateTimeField("last used", null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+", editable=False
    )

    objects = SharedDeviceQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["shop", "name"],
                condition=Q(revoked_at__isnull=True),
                name="one_allowed_device_per_shop_and_name",
                violation_error_message="There is a device of that name already.",
            ),
            models.CheckConstraint(
                condition=Q(revoked_at__isnull=True, revoked_by__isnull=True)
                | Q(revoked_at__isnull=False, revoked_by__isnull=False, secret_sha256__isnull=True),
                name="a_device_taken_back_knows_no_secret",
            ),
        ]

    def __str__(self):
        return self.name


class Pin(models.Model):
    """The PIN with which a person says who they are at a shared device, hashed like a password."""

    record_rules = Record(
        archive=Stays("a secret, though hashed"),
        left_out={"hashed": "a secret, though hashed"},
    )

    user = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE)
    hashed = models.CharField(max_length=128)
    set_at = models.DateTimeField()

    def __str__(self):
        return f"PIN of {self.user}"


class PinTries(models.Model):
    """How often in a row a person's PIN was typed wrong on a device."""

    record_rules = Record(
        archive=Stays("how often a secret was typed wrong here"),
        untrailed="it counts what was typed wrong, and is forgotten",
    )

    device = models.ForeignKey(SharedDevice, on_delete=models.CASCADE, related_name="tries")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    wrong = models.PositiveIntegerField(default=0)
    waits_until = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "PIN tries"
        constraints = [
            models.UniqueConstraint(
                fields=["device", "user"], name="one_count_per_device_and_person"
            )
        ]

    def __str__(self):
        return f"{self.wrong} wrong at {self.device}"
