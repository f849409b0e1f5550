"""The machines by the risk that one of their items has drifted out."""

import django_tables2 as tables
from django.utils.html import format_html

from shop.web.wording import day_text

from . import words
from .models import MachineRisk
from .risk import why


class RiskTable(tables.Table):
    """A `MachineRisk` a row, the most pressing first."""

    machine = tables.Column(order_by="place", linkify=True)
    shop = tables.Column(accessor="machine__shop", order_by="place")
    chance = tables.Column("Chance out of tolerance", empty_values=(), order_by="weight")
    driver = tables.Column("Because of", accessor="item", empty_values=(), orderable=False)
    next_check = tables.Column("Check by", empty_values=(), order_by="by")
    last_measured = tables.Column("Last measured", empty_values=())
    unknown = tables.Column("Without a forecast")

    class Meta:
        attrs = {"class": "table"}
        empty_text = "No machine is on record."

    def render_machine(self, value):
        return f"{value.number} {value.name}"

    def render_chance(self, record):
        return words.chance_or_more(record.chance, loose=record.state == MachineRisk.State.LOOSE)

    def value_chance(self, record):
        return "" if record.chance is None else round(record.chance, 4)

    def render_driver(self, record):
        if record.item is None:
            return why(record)
        link = format_html('<a href="{}">{}</a>', record.item.get_absolute_url(), record.item)
        if record.state == MachineRisk.State.LOOSE:
            return format_html(
                "<span><strong>{}</strong><br>{}</span>", _capitalised(why(record)), link
            )
        return link

    def value_driver(self, record):
        return str(record.item or "")

    def render_next_check(self, record):
        if record.next_check is None:
            return "not by drift" if record.chance is not None else "not known"
        return "now" if record.pressing else day_text(record.next_check)

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
