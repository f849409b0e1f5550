"""The machines by the risk that one of their items has drifted out."""

import django_tables2 as tables
from django.utils.html import format_html

from shop.wording import day_text

from . import words
from .risk import State


class RiskTable(tables.Table):
    """A `MachineRisk` a row, the most pressing first."""

    machine = tables.Column(order_by=("machine__shop__name", "machine__number"), linkify=True)
    shop = tables.Column(accessor="machine__shop", order_by=("machine__shop__name",))
    chance = tables.Column("Out today", empty_values=())
    driver = tables.Column("Because of", empty_values=(), orderable=False)
    next_check = tables.Column("Check by", empty_values=())
    last_measured = tables.Column("Last measured", empty_values=())
    unknown = tables.Column("Without a forecast")

    class Meta:
        attrs = {"class": "table"}
        empty_text = "No machine is on record."

    def render_machine(self, value):
        return f"{value.number} {value.name}"

    def render_chance(self, record):
        return words.chance_or_more(record.chance, loose=record.state == State.KNOCKED)

    def value_chance(self, record):
        return "" if record.chance is None else round(record.chance, 4)

    def render_driver(self, record):
        if record.driver is None:
            return "no item has a forecast"
        item = record.driver.item
        link = format_html('<a href="{}">{}</a>', item.get_absolute_url(), item)
        if record.state == State.KNOCKED:
            return format_html(
                "<span><strong>{}</strong><br>{}</span>", _capitalised(record.why), link
            )
        return link

    def value_driver(self, record):
        return str(record.driver.item) if record.driver else ""

    def render_next_check(self, record):
        if record.next_check is None:
            return "not by drift" if record.chance is not None else "not known"
        return "now" if record.is_pressing else day_text(record.next_check)

    def value_next_check(self, record):
        return record.next_check.isoformat() if record.next_check else ""

    def render_last_measured(self, record):
        return day_text(record.last_measured) if record.last_measured else "never"

    def value_last_measured(self, record):
        return record.last_measured.isoformat() if record.last_measured else ""

    def render_unknown(self, record):
        return f"{record.unknown} of {record.items} items" if record.unknown else "none"

    def value_unknown(self, record):
        return record.unknown


def _capitalised(text):
    return text[:1].upper() + text[1:]
