"""Quotes for work that was advised, and what the owner answered to each item."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.people.models import Firm, Shop, ToldAnswer, billed_to
from shop.record import FROM_THE_BEGINNING, Frozen, Goes, Record
from shop.web.models import Entry

from .charges import Charge


def quote_sealed(quote_id):
    """SQL that is true when the quote that `quote_id` (SQL) names was issued."""
    return f"EXISTS (SELECT 1 FROM shop_quote q WHERE q.id = {quote_id} AND q.sealed)"


def _money():
    return models.DecimalField(max_digits=14, decimal_places=2)


class QuoteQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(billed_to(user))

    def with_open_items(self):
        """Annotate `open_items`, how many items nobody has answered yet; the newest quote first."""
        unanswered = Q(items__answer__isnull=True)
        # Grouping drops the usual order.
        return self.annotate(open_items=models.Count("items", filter=unanswered)).order_by(
            "-issued_on", "-pk"
        )

    def waiting(self):
        """Of quotes `with_open_items()`, those with something left to answer."""
        return self.filter(open_items__gt=0)


class Quote(Entry):
    """What the firm would do and what it would cost; sealed once issued."""

    record_rules = Record(
        archive=Goes(held={"sealed": False}),
        frozen=Frozen("{row}.sealed", inserts=False),
        has_page=True,
    )

    number = models.CharField(max_length=20)
    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="quotes")
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="quotes")
    issued_on = models.DateField("date")
    valid_until = models.DateField()
    currency = models.CharField(max_length=3)
    note = models.TextField(blank=True)
    net = _money()
    tax = _money()
    gross = _money()
    sealed = models.BooleanField(default=False, editable=False)

    objects = QuoteQuerySet.as_manager()

    class Meta:
        ordering = ["-issued_on", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["firm", "number"], name="one_quote_per_firm_and_number")
        ]

    def __str__(self):
        return f"Quote {self.number}"

    def get_absolute_url(self):
        return reverse("shop:quote", args=[self.pk])


class QuoteItem(models.Model):
    """One thing the owner may accept or not, and where it comes from (`source`)."""

    record_rules = Record(frozen=Frozen(quote_sealed("{row}.quote_id")))

    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="items")
    position = models.PositiveSmallIntegerField()
    source = models.CharField(max_length=80)
    what = models.CharField(max_length=200)
    reason = models.TextField(blank=True)
    net = _money()

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["quote", "position"], name="one_item_per_quote_and_position"
            ),
            models.UniqueConstraint(
                fields=["quote", "source"], name="a_thing_is_quoted_once_in_a_quote"
            ),
        ]

    def __str__(self):
        return self.what


class QuoteLine(models.Model):
    """A part or the labour of an item, priced."""

    record_rules = Record(
        frozen=Frozen(
            quote_sealed("(SELECT i.quote_id FROM shop_quoteitem i WHERE i.id = {row}.item_id)")
        )
    )

    item = models.ForeignKey(QuoteItem, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=Charge.Kind)
    text = models.CharField(max_length=300)
    number = models.CharField(max_length=40, blank=True)
    quantity = models.DecimalField(max_digits=10, decimal_places=3)
    unit = models.CharField(max_length=2)
    price = models.DecimalField(max_digits=12, decimal_places=4)
    net = _money()
    tax_code = models.CharField(max_length=2)
    tax_name = models.CharField(max_length=60)
    tax_percent = models.DecimalField(max_digits=5, decimal_places=2)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["item", "position"], name="one_line_per_item_and_position"
            ),
            models.CheckConstraint(
                condition=Q(quantity__gt=0), name="quoted_for_more_than_nothing"
            ),
        ]

    def __str__(self):
        return self.text


class QuoteAnswer(Entry):
    """What the owner said to one item; said once."""

    record_rules = Record(frozen=FROM_THE_BEGINNING)

    item = models.OneToOneField(QuoteItem, on_delete=models.PROTECT, related_name="answer")
    accepted = models.BooleanField()
    note = models.CharField(max_length=200, blank=True)
    told = models.ForeignKey(
        ToldAnswer, on_delete=models.PROTECT, null=True, blank=True, related_name="quote_answers"
    )

    class Meta:
        ordering = ["pk"]

    def __str__(self):
        return f"{self.item}: {'accepted' if self.accepted else 'not accepted'}"
