"""What is noted at a machine during a visit: photos of what was found, belts taken off."""

from django.db import models
from django.urls import reverse

from shop.models import Entry, Visit
from shop.models.files import HashedImageField, sha256_field
from shop.record import WITH_ITS_VISIT, Record

from .register import WITH_ITS_FINDINGS, Belt, Machine, VisitedMachine


class FindingPhotoQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(visited__machine__in=Machine.objects.visible_to(user))


class FindingPhoto(Entry):
    """A photo of what was found, stored shrunk and without the camera's data."""

    record_rules = Record(frozen=WITH_ITS_FINDINGS)

    visited = models.ForeignKey(VisitedMachine, on_delete=models.PROTECT, related_name="photos")
    image = HashedImageField(upload_to="findings/%Y/")
    sha256 = sha256_field()
    caption = models.CharField("what it shows", max_length=160)

    objects = FindingPhotoQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]

    def __str__(self):
        return self.caption

    def get_absolute_url(self):
        return reverse("machines:finding_photo", args=[self.pk])


class BeltOff(Entry):
    """A belt that was taken off at a visit; whoever has it in hand looks at its teeth."""

    record_rules = Record(belongs_to=("belt",), frozen=WITH_ITS_VISIT)

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="belts_off")
    belt = models.ForeignKey(Belt, on_delete=models.PROTECT, related_name="times_off")

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "belts off"
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "belt"], name="a_belt_is_noted_off_once_a_visit"
            )
        ]

    def __str__(self):
        return f"{self.belt} off at {self.visit}"
