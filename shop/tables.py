"""Lists of the ground app."""

import django_tables2 as tables

from .amounts import money_text
from .models import Quote, Visit
from .wording import day_text


class VisitTable(tables.Table):
    """Visits, newest first."""

    number = tables.Column(linkify=True)
    day = tables.Column(order_by=("arrived_at", "planned_for"), empty_values=())
    shop = tables.Column()
    purpose = tables.Column(linkify=True)
    state = tables.Column()
    contractor = tables.Column(accessor="contractor__name", order_by="contractor__last_name")

    class Meta:
        model = Visit
        fields = ("number", "day", "shop", "purpose", "state", "contractor")
        order_by = "-number"

    def render_day(self, record):
        return day_text(record.day)

    def value_day(self, record):
        return record.day.isoformat()


class QuoteTable(tables.Table):
    """Quotes, newest first, with what is left to answer; the rows come `with_open_items()`."""

    number = tables.Column(linkify=True, attrs={"td": {"class": "nowrap"}})
    issued_on = tables.Column(verbose_name="Date")
    shop = tables.Column(verbose_name="To")
    gross = tables.Column(
        verbose_name="Total", attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )
    valid_until = tables.Column()
    open_items = tables.Column(verbose_name="To answer")

    class Meta:
        model = Quote
        fields = ("number", "issued_on", "shop", "gross", "valid_until", "open_items")
        order_by = ("-issued_on", "-number")

    def render_issued_on(self, value):
        return day_text(value)

    def value_issued_on(self, value):
        return value.isoformat()

    def render_valid_until(self, value):
        return day_text(value)

    def value_valid_until(self, value):
        return value.isoformat()

    def render_gross(self, record, value):
        return money_text(value, record.currency)

    def value_gross(self, value):
        return value

    def render_open_items(self, value):
        if not value:
            return "answered"
        return f"{value} item{'' if value == 1 else 's'}"

    def value_open_items(self, value):
        return value
