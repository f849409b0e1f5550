"""Lists of parts."""

import django_tables2 as tables
from django.utils.html import format_html

from .models import Part


class PartTable(tables.Table):
    """Parts; taken out, its columns are those in which a list comes in."""

    number = tables.Column(verbose_name="number", linkify=True)
    price = tables.Column(attrs={"td": {"class": "num"}})
    lead_time_days = tables.Column(verbose_name="lead time days", attrs={"td": {"class": "num"}})
    minimum = tables.Column(verbose_name="minimum", attrs={"td": {"class": "num"}})
    on_shelf = tables.Column(verbose_name="on shelf", attrs={"td": {"class": "num"}})
    in_van = tables.Column(verbose_name="in van", attrs={"td": {"class": "num"}})
    kept_by = tables.Column(empty_values=(), orderable=False)

    class Meta:
        model = Part
        fields = (
            "number",
            "description",
            "maker",
            "price",
            "lead_time_days",
            "minimum",
            "on_shelf",
            "in_van",
            "kept_by",
        )
        order_by = "number"
        empty_text = "No part is on record yet"

    def render_kept_by(self, record):
        return str(record.shop or record.firm)

    def render_in_van(self, record, value):
        if record.is_short:
            return format_html('{} <strong class="badge urgent">short</strong>', value)
        return value

    def value_in_van(self, value):
        return value
