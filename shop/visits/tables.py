"""Lists of visits."""

import django_tables2 as tables

from shop.web.wording import day_text

from .models import Visit


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
