"""Lists of statements: those issued with what is outstanding, and the bookkeeper's lines."""

import django_tables2 as tables

from shop.people.models import billed_to
from shop.web.amounts import money_text
from shop.web.wording import day_text

from .models import Statement, StatementLine

NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}


class StatementTable(tables.Table):
    """Statements and credit notes, newest first, with what is outstanding and for how long it is
    overdue by the day at each shop.

    The rows come from `with_outstanding()` with shop and firm: one query however many rows.
    """

    number = tables.Column(linkify=True, attrs={"td": {"class": "nowrap"}})
    kind = tables.Column()
    issued_on = tables.Column(verbose_name="Date")
    shop = tables.Column(accessor="buyer_name", verbose_name="To")
    gross = tables.Column(verbose_name="Total", attrs=NUMBER)
    credited = tables.Column(verbose_name="Credited", attrs=NUMBER)
    paid = tables.Column(attrs=NUMBER)
    outstanding = tables.Column(attrs=NUMBER)
    due_on = tables.Column(verbose_name="Due")
    age = tables.Column(
        accessor="due_on", verbose_name="Overdue for", order_by="-due_on", attrs=NUMBER
    )

    class Meta:
        model = Statement
        fields = (
            "number",
            "kind",
            "issued_on",
            "shop",
            "gross",
            "credited",
            "paid",
            "outstanding",
            "due_on",
            "age",
        )
        order_by = "-issued_on"
        empty_text = "No statement was issued yet"

    def render_issued_on(self, value):
        return day_text(value)

    def value_issued_on(self, value):
        return value.isoformat()

    def render_gross(self, record, value):
        return money_text(-value if record.is_credit_note else value, record.currency)

    def value_gross(self, record, value):
        return -value if record.is_credit_note else value

    def render_paid(self, record, value):
        return "–" if record.is_credit_note else money_text(value, record.currency)

    render_credited = render_outstanding = render_paid

    def value_outstanding(self, record, value):
        return 0 if record.is_credit_note else value

    def render_due_on(self, record, value):
        late = self._is_open(record) and value < record.shop.today
        return f"{day_text(value)}, overdue" if late else day_text(value)

    def value_due_on(self, value):
        return value.isoformat()

    def render_age(self, record, value):
        days = self.value_age(record, value)
        if days == "":
            return "–"
        return f"{days} day{'s' * (days != 1)}" if days else "not due yet"

    def value_age(self, record, value):
        """Days since it was due: 0 while it is not, nothing where nothing is left to pay."""
        return max((record.shop.today - value).days, 0) if self._is_open(record) else ""

    def _is_open(self, record):
        return not record.is_credit_note and record.outstanding > 0


class LinesForBookkeeper:
    """Every line of every statement that concerns a person, as rows of raw values; what a credit
    note takes back is negative."""

    HEADINGS = (
        "document",
        "kind",
        "date",
        "due",
        "firm",
        "to",
        "line",
        "kind of line",
        "text",
        "part number",
        "quantity",
        "unit",
        "price",
        "net",
        "tax code",
        "tax percent",
        "currency",
        "credits",
    )

    def __init__(self, user):
        concerned = billed_to(user, shop="statement__shop", firm="statement__firm")
        self.lines = (
            StatementLine.objects.filter(concerned)
            .select_related("statement__credits")
            .order_by("statement__issued_on", "statement_id", "position")
        )

    def as_values(self):
        """The heading, then one row for each line; one query."""
        yield self.HEADINGS
        for line in self.lines.iterator(chunk_size=500):
            yield self._row(line, line.statement)

    def _row(self, line, statement):
        sign = -1 if statement.is_credit_note else 1
        return (
            statement.number,
            statement.kind,
            statement.issued_on.isoformat(),
            statement.due_on.isoformat() if statement.due_on else "",
            statement.seller_name,
            statement.buyer_name,
            line.position,
            line.kind,
            line.text,
            line.number,
            sign * line.quantity,
            line.unit,
            line.price,
            sign * line.net,
            line.tax_code,
            line.tax_percent,
            statement.currency,
            statement.credits.number if statement.credits else "",
        )
