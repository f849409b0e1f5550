"""Where a person is signed in."""

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import models

from shop.record import Record, Stays


class SignIn(models.Model):
    """One browser in which a person is signed in; it goes with its session."""

    record_rules = Record(
        archive=Stays("sign-ins to this site"),
        untrailed="it lives and goes with its session; signing in changes no record",
    )

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="sign_ins"
    )
    session = models.OneToOneField(Session, on_delete=models.CASCADE, related_name="sign_in")
    device = models.CharField(max_length=20)
    address = models.GenericIPAddressField("network address", null=True, blank=True)
    began_at = models.DateTimeField()
    seen_at = models.DateTimeField()

    class Meta:
        ordering = ["-seen_at"]

    def __str__(self):
        return f"{self.user} on {self.device}"
