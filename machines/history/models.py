"""When a machine was out of service, and its history as it was issued on paper."""

from django.db import models

from machines.register.models import Machine
from shop.paper.models import Document
from shop.record import Record, Stays
from shop.web.models import Entry


class IssuedHistory(Entry):
    """The history of a machine as a document that was issued: by whom, of which machine."""

    record_rules = Record(handover=Stays("documents stay with the shop that issued them"))

    machine = models.ForeignKey(Machine, on_delete=models.PROTECT, related_name="issued_histories")
    document = models.OneToOneField(Document, on_delete=models.PROTECT, related_name="history_of")

    class Meta:
        ordering = ["-made_at", "-pk"]
        verbose_name_plural = "issued histories"

    def __str__(self):
        return str(self.document)
