"""Lists of billing."""

import django_tables2 as tables

from shop.web.amounts import money_text
from shop.web.wording import day_text

from .models import Quote


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
