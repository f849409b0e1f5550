"""Documents as issued, and to whom they were sent."""

import re

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.people.models import Firm, Shop, billed_to
from shop.record import FROM_THE_BEGINNING, Record
from shop.web.models import Entry


class DocumentQuerySet(models.QuerySet):
    def visible_to(self, user):
        """Documents of the person's shops; those about money only to whom the money concerns."""
        about_money = Q(statement__isnull=False) | Q(quote__isnull=False)
        return self.filter(shop__in=Shop.objects.visible_to(user)).filter(
            ~about_money | Q(billed_to(user))
        )


class Document(models.Model):
    """A document as issued: stored once, known by its SHA-256.

    `code` stands on the paper: the short form of `content_sha256`, the SHA-256 of the document
    before the code was printed on it. `sha256` is that of the file as handed out.
    """

    record_rules = Record(
        frozen=FROM_THE_BEGINNING,
        part_of=("statement", "quote", "visit", "shop"),
        chained=True,
    )

    class Kind(models.TextChoices):
        REPORT = "service report", "service report"
        STATEMENT = "statement", "statement"
        CREDIT_NOTE = "credit note", "credit note"
        QUOTE = "quote", "quote"
        HISTORY = "machine history", "machine history"
        CHECK_SHEET = "check sheet", "check sheet"
        LABEL = "machine label", "machine label"

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="documents")
    firm = models.ForeignKey(
        Firm, on_delete=models.PROTECT, null=True, blank=True, related_name="documents"
    )
    visit = models.ForeignKey(
        "shop.Visit", on_delete=models.PROTECT, null=True, blank=True, related_name="documents"
    )
    statement = models.OneToOneField(
        "shop.Statement", on_delete=models.PROTECT, null=True, blank=True, related_name="document"
    )
    quote = models.OneToOneField(
        "shop.Quote", on_delete=models.PROTECT, null=True, blank=True, related_name="document"
    )
    kind = models.CharField(max_length=20, choices=Kind, default=Kind.REPORT)
    number = models.CharField(max_length=60)
    file = models.FileField(upload_to="documents/%Y/")
    sha256 = models.CharField(max_length=64)
    content_sha256 = models.CharField(max_length=64, blank=True)
    code = models.CharField(max_length=24, null=True, blank=True, unique=True)
    issued_at = models.DateTimeField()

    objects = DocumentQuerySet.as_manager()

    class Meta:
        ordering = ["-issued_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit"],
                condition=Q(kind="service report"),
                name="one_report_per_visit",
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} {self.number}"

    def get_absolute_url(self):
        return reverse("shop:document", args=[self.pk])

    @property
    def file_name(self):
        """A name any file system takes, whatever a machine's number has in it."""
        return re.sub(r"[^\w.-]+", "-", self.number) + ".pdf"


class SendingQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(document__in=Document.objects.visible_to(user))


class Sending(Entry):
    """One document put into the post for one person.

    trouble: what went wrong while mail was sent before it was logged; what becomes of a mail now,
    `shop.outbox` says.
    """

    record_rules = Record(frozen=FROM_THE_BEGINNING)

    document = models.ForeignKey(Document, on_delete=models.PROTECT, related_name="sendings")
    to_name = models.CharField("to", max_length=120, blank=True)
    to_address = models.EmailField("address")
    trouble = models.CharField(max_length=200, blank=True, editable=False)

    objects = SendingQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self):
        return f"{self.document} to {self.to_address}"
