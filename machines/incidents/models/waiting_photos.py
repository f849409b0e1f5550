"""Photos that could not be stored yet."""

from django.db import models

from shop.record import Record, Stays

from .incidents import Incident


class WaitingPhoto(models.Model):
    """A photo of an incident whose file cannot be written: kept here until it can."""

    record_rules = Record(
        archive=Stays("it goes as a photo, once it is stored"),
        untrailed="it waits to become a photo, which is trailed",
    )

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="waiting_photos")
    content = models.BinaryField()

    def __str__(self):
        return f"photo of {self.incident}, waiting"
