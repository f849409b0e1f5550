"""Lists of a machine's past, for taking out."""

import django_tables2 as tables

from shop.web.served import absolute


class HistoryTable(tables.Table):
    """Events, newest first, with their times in the shop's zone."""

    when = tables.Column(verbose_name="when")
    kind = tables.Column(verbose_name="kind")
    title = tables.Column(verbose_name="what")
    text = tables.Column(verbose_name="more")
    who = tables.Column(verbose_name="by")
    url = tables.Column(verbose_name="address")

    def __init__(self, *args, zone, **kwargs):
        super().__init__(*args, **kwargs)
        self.zone = zone

    def value_when(self, value):
        return f"{value.astimezone(self.zone):%Y-%m-%d %H:%M}"

    def value_url(self, value):
        return absolute(value) if value else ""


class DowntimeTable(tables.Table):
    """Hours by machine, month and cause."""

    machine = tables.Column(verbose_name="machine")
    month = tables.Column(verbose_name="month")
    what = tables.Column(verbose_name="what")
    hours = tables.Column(verbose_name="hours")

    def value_month(self, value):
        return f"{value:%Y-%m}"
