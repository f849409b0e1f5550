"""Private addresses of people's calendars."""

from django.conf import settings
from django.db import models

from shop.record import Record, Stays


class FeedAddress(models.Model):
    """The private address of one person's calendar; only a digest of its secret is kept."""

    record_rules = Record(
        archive=Stays("the secret address of one person's calendar"),
        left_out={"secret_sha256": "the digest of a secret"},
    )

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="feed_address"
    )
    secret_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self):
        return f"calendar address of {self.user}"
