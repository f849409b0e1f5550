"""Photos of what was found at a machine."""

from django.db import models
from django.urls import reverse

from shop.record import Record
from shop.web.hashed_images import HashedImageField, sha256_field
from shop.web.models import Entry

from .machines import WITH_ITS_FINDINGS, Machine, VisitedMachine


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
