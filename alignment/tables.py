"""Lists of the alignment app."""

import django_tables2 as tables

from shop.wording import time_text

from . import shown
from .models import Check


class CheckTable(tables.Table):
    """The checks of one acceptance item, newest first."""

    measured_at = tables.Column("measured", linkify=True, order_by=("measured_at", "pk"))
    visit = tables.Column(linkify=True, order_by="visit__number")
    phase = tables.Column()
    value_um = tables.Column("value")
    expanded_um = tables.Column("± U", order_by="u_um")
    verdict = tables.TemplateColumn(
        '{% include "includes/verdict.html" with verdict=record.verdict size="" only %}'
    )
    made_by = tables.Column("by", accessor="made_by__name", order_by="made_by__last_name")

    class Meta:
        model = Check
        fields = ("measured_at", "visit", "phase", "value_um", "expanded_um", "verdict", "made_by")
        order_by = "-measured_at"
        attrs = {"class": "table"}

    def __init__(self, *args, unit, shop, **kwargs):
        super().__init__(*args, **kwargs)
        self.unit, self.zone = unit, shop.zone

    def render_measured_at(self, value):
        return time_text(value, self.zone)

    def render_value_um(self, value):
        return shown.length(value, self.unit)

    def render_expanded_um(self, value):
        return shown.uncertainty(value, self.unit)
