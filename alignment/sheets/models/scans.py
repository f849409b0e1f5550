"""Scans of the paper an acceptance sheet was typed from."""

from django.db import models

from machines.register.models import Machine
from shop.record import Record
from shop.web.models import Entry

from .sheets import AcceptanceSheet


class SheetScanQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The scans of the machines a person may see."""
        return self.filter(sheet__machine__in=Machine.objects.visible_to(user))


class SheetScan(Entry):
    """A scan attached to a sheet: a picture or a PDF, checked when it was taken in."""

    record_rules = Record()

    class Kind(models.TextChoices):
        JPEG = "image/jpeg", "picture"
        PDF = "application/pdf", "PDF"

    sheet = models.ForeignKey(AcceptanceSheet, on_delete=models.PROTECT, related_name="scans")
    file = models.FileField(upload_to="sheet-scans/%Y/")
    kind = models.CharField(max_length=20, choices=Kind)
    sha256 = models.CharField("SHA-256", max_length=64)

    objects = SheetScanQuerySet.as_manager()

    class Meta:
        ordering = ["made_at", "pk"]

    def __str__(self):
        return f"scan of {self.sheet}"

    @property
    def filename(self):
        """What the file is called when it is taken out."""
        ending = "pdf" if self.kind == self.Kind.PDF else "jpg"
        return f"sheet-{self.sheet_id}-scan-{self.pk}.{ending}"
