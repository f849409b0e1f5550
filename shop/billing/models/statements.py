"""Statements and credit notes as they were issued, and what was paid of them."""

from decimal import Decimal

from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Subquery, Sum, Value
from django.db.models.functions import Coalesce, Round
from django.urls import reverse

from shop.people.models import Firm, Shop, billed_to
from shop.record import FROM_THE_BEGINNING, Frozen, Goes, Record
from shop.visits.models import Visit
from shop.web.models import Entry

from .charges import Charge

HALF_A_HUNDREDTH = Decimal("0.005")
MONEY = models.DecimalField(max_digits=14, decimal_places=2)


def statement_sealed(statement_id):
    """SQL that is true when the statement that `statement_id` (SQL) names was issued."""
    return f"EXISTS (SELECT 1 FROM shop_statement s WHERE s.id = {statement_id} AND s.sealed)"


def _money(name=None, **options):
    return models.DecimalField(name, max_digits=14, decimal_places=2, **options)


def _equal(field, sum_of_others):
    """That two amounts agree to the hundredth; SQLite adds decimals up in floating point."""
    return Q(
        **{
            f"{field}__gt": sum_of_others - HALF_A_HUNDREDTH,
            f"{field}__lt": sum_of_others + HALF_A_HUNDREDTH,
        }
    )


class StatementQuerySet(models.QuerySet):
    def visible_to(self, user):
        """The shop's owner sees all of the shop's; a contractor those of the own firm."""
        return self.filter(billed_to(user))

    def statements(self):
        return self.filter(kind=Statement.Kind.STATEMENT)

    def in_effect(self):
        """Statements that were not taken back as a whole."""
        closed = Statement.objects.filter(credits=OuterRef("pk"), closes=True)
        return self.statements().exclude(Exists(closed))

    def with_outstanding(self):
        """Annotate `paid`, `credited` and `outstanding` of statements; no further query.

        Rounded to the hundredth, since SQLite adds decimals up in floating point.
        """
        paid = Payment.objects.filter(statement=OuterRef("pk")).values("statement")
        credited = Statement.objects.filter(credits=OuterRef("pk")).values("credits")
        left = Round(F("gross") - F("credited") - F("paid"), 2, output_field=MONEY)
        sums = self.annotate(paid=_sum(paid, "amount"), credited=_sum(credited, "gross"))
        # SQLite may round to a negative zero, which adding zero makes plain.
        return sums.annotate(outstanding=Value(Decimal(0)) + left)

    def outstanding_only(self):
        """Of statements `with_outstanding()`, those not settled."""
        return self.statements().exclude(outstanding=0)

    def outstanding_by_currency(self):
        """[(currency, outstanding, how many statements)] over all statements; one query."""
        found = self.with_outstanding().outstanding_only().order_by()
        return list(
            found.values_list("currency").annotate(
                total=Sum("outstanding", output_field=MONEY), how_many=models.Count("pk")
            )
        )


def _sum(grouped, field):
    total = grouped.order_by().annotate(total=Sum(field)).values("total")
    return Round(Coalesce(Subquery(total), Value(Decimal(0))), 2, output_field=MONEY)


class Statement(Entry):
    """A statement or a credit note. What it says is copied here and in its lines; once it is
    sealed nothing of it changes."""

    record_rules = Record(
        # It is sealed once all its lines are in.
        archive=Goes(held={"sealed": False}),
        frozen=Frozen("{row}.sealed", inserts=False),
        has_page=True,
        chained=True,
    )

    class Kind(models.TextChoices):
        STATEMENT = "statement", "statement"
        CREDIT_NOTE = "credit note", "credit note"

    kind = models.CharField(max_length=11, choices=Kind, default=Kind.STATEMENT)
    number = models.CharField(max_length=20)
    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="statements")
    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="statements")
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="statements")
    credits = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="credit_notes"
    )
    reason = models.CharField(max_length=200, blank=True)
    closes = models.BooleanField(
        default=False, editable=False, help_text="After it nothing of the statement is left."
    )
    issued_on = models.DateField("date")
    due_on = models.DateField("due", null=True, blank=True)
    currency = models.CharField(max_length=3)
    seller_name = models.CharField(max_length=120)
    seller_address = models.TextField()
    seller_contact = models.TextField(blank=True)
    seller_tax_number = models.CharField(max_length=40, blank=True)
    buyer_name = models.CharField(max_length=120)
    buyer_address = models.TextField()
    about = models.CharField(max_length=300)
    payment_note = models.TextField(blank=True)
    lines_total = _money()
    discounts_total = _money()
    net = _money()
    tax = _money()
    gross = _money("total")
    sealed = models.BooleanField(default=False, editable=False)

    objects = StatementQuerySet.as_manager()

    class Meta:
        ordering = ["-issued_on", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["firm", "number"], name="one_statement_per_firm_and_number"
            ),
            models.CheckConstraint(
                condition=Q(kind="statement", credits__isnull=True, due_on__isnull=False)
                | (Q(kind="credit note", credits__isnull=False) & ~Q(reason="")),
                name="a_credit_note_and_only_it_names_a_statement_and_why",
            ),
            models.UniqueConstraint(
                fields=["credits"],
                condition=Q(closes=True),
                name="a_statement_is_closed_once",
            ),
            models.CheckConstraint(
                condition=Q(closes=False) | Q(kind="credit note"),
                name="only_a_credit_note_closes_a_statement",
            ),
            models.CheckConstraint(
                condition=_equal("net", F("lines_total") - F("discounts_total")),
                name="net_is_lines_less_discounts",
            ),
            models.CheckConstraint(
                condition=_equal("gross", F("net") + F("tax")), name="total_is_net_and_tax"
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} {self.number}"

    def get_absolute_url(self):
        return reverse("shop:statement", args=[self.pk])

    @property
    def is_credit_note(self):
        return self.kind == self.Kind.CREDIT_NOTE


class StatementLine(models.Model):
    """A line as it was issued."""

    record_rules = Record(frozen=Frozen(statement_sealed("{row}.statement_id")), chained=True)

    statement = models.ForeignKey(Statement, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    takes_back = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="taken_back_by"
    )
    kind = models.CharField(max_length=8, choices=Charge.Kind)
    text = models.CharField(max_length=300)
    number = models.CharField(max_length=40, blank=True)
    quantity = models.DecimalField(max_digits=10, decimal_places=3)
    unit = models.CharField(max_length=2)
    price = models.DecimalField(max_digits=16, decimal_places=4)
    net = _money(help_text="Negative for a discount.")
    tax_code = models.CharField(max_length=2)
    tax_percent = models.DecimalField(max_digits=5, decimal_places=2)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["statement", "position"], name="one_line_per_statement_and_position"
            ),
            models.UniqueConstraint(
                fields=["statement", "takes_back"], name="one_line_per_credit_note_and_line"
            ),
            models.CheckConstraint(
                condition=Q(quantity__gt=0), name="a_statement_s_line_is_for_more_than_nothing"
            ),
        ]

    def __str__(self):
        return self.text

    @property
    def is_discount(self):
        return self.kind == Charge.Kind.DISCOUNT


class StatementTax(models.Model):
    """What one tax category came to."""

    record_rules = Record(frozen=Frozen(statement_sealed("{row}.statement_id")), chained=True)

    statement = models.ForeignKey(Statement, on_delete=models.PROTECT, related_name="taxes")
    code = models.CharField(max_length=2)
    name = models.CharField(max_length=60)
    percent = models.DecimalField(max_digits=5, decimal_places=2)
    reason = models.CharField(max_length=120, blank=True)
    base = _money()
    amount = _money()

    class Meta:
        ordering = ["-percent", "code"]
        verbose_name_plural = "statement taxes"
        constraints = [
            models.UniqueConstraint(
                fields=["statement", "code", "percent"], name="one_sum_per_statement_and_category"
            )
        ]

    def __str__(self):
        return self.name


class PaymentQuerySet(models.QuerySet):
    def visible_to(self, user):
        return self.filter(billed_to(user, shop="statement__shop", firm="statement__firm"))


class Payment(Entry):
    """Money that came in, or went back when the amount is negative."""

    record_rules = Record(frozen=FROM_THE_BEGINNING, chained=True)

    statement = models.ForeignKey(Statement, on_delete=models.PROTECT, related_name="payments")
    paid_on = models.DateField("paid on")
    amount = _money()
    note = models.CharField(max_length=120, blank=True)

    objects = PaymentQuerySet.as_manager()

    class Meta:
        ordering = ["paid_on", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(amount=0),
                name="a_payment_is_not_of_nothing",
                violation_error_message="Give the amount that was paid.",
            ),
            models.CheckConstraint(
                condition=Q(amount__gt=0) | ~Q(note=""),
                name="money_given_back_has_its_reason",
                violation_error_message="Say why money was given back.",
            ),
        ]

    def __str__(self):
        return f"{self.amount} on {self.paid_on}"
