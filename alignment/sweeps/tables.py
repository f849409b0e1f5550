"""Lists of the alignment app."""

import django_tables2 as tables
from django.template.loader import get_template
from django.utils.html import format_html

from alignment.sheets import formatting
from shop.web.wording import day_text, time_text

from .models import Check, Indicator


class CheckTable(tables.Table):
    """The checks of one acceptance item, newest first.

    newest, state: the pk of the newest of them, and what it is worth now. The others tell what they
    came to then, and are no greener than it after a crash.
    """

    measured_at = tables.Column("Measured", linkify=True, order_by=("measured_at", "pk"))
    visit = tables.Column(linkify=True, order_by="visit__number")
    phase = tables.Column()
    value_um = tables.Column("Value")
    expanded_um = tables.Column("± U", order_by="u_um")
    verdict = tables.Column()
    made_by = tables.Column("By", accessor="made_by__name", order_by="made_by__last_name")

    class Meta:
        model = Check
        fields = ("measured_at", "visit", "phase", "value_um", "expanded_um", "verdict", "made_by")
        order_by = "-measured_at"
        attrs = {"class": "table"}

    def __init__(self, *args, unit, shop, newest, state, **kwargs):
        super().__init__(*args, **kwargs)
        self.unit, self.zone, self.newest, self.state = unit, shop.zone, newest, state

    def render_verdict(self, value, record):
        if record.pk == self.newest:
            return _drawn("check_state", state=self.state)
        if self.state.is_before_a_crash:
            return format_html('<span class="verdict greyed">{}</span>', value)
        return _drawn("verdict", verdict=value)

    def render_measured_at(self, value):
        return time_text(value, self.zone)

    def render_value_um(self, value, record):
        return formatting.measure(record.told_um, self.unit, record)

    def render_expanded_um(self, value):
        return formatting.uncertainty(value, self.unit)


def _drawn(include, **context):
    return get_template(f"includes/{include}.html").render(context)


class IndicatorTable(tables.Table):
    """A firm's indicators, those in use first."""

    name = tables.Column(linkify=True)
    serial = tables.Column("Serial number")
    resolution_um = tables.Column("Resolution")
    error_um = tables.Column("Stated error")
    calibration_due = tables.Column("Calibration due", empty_values=())
    retired = tables.Column("In use")

    class Meta:
        model = Indicator
        fields = ("name", "serial", "resolution_um", "error_um", "calibration_due", "retired")
        order_by = ("retired", "name")
        attrs = {"class": "table"}
        empty_text = "No indicators yet. Enter the ones you measure with."

    def __init__(self, *args, unit, today, **kwargs):
        super().__init__(*args, **kwargs)
        self.unit, self.today = unit, today

    def render_resolution_um(self, value):
        return formatting.length(value, self.unit)

    def render_error_um(self, value, record):
        return formatting.stated_error(
            value, record.error_travel_um, lambda um: formatting.length(um, self.unit)
        )

    def render_retired(self, value):
        return "no" if value else "yes"

    def render_calibration_due(self, value, record):
        if value is None:
            return "not recorded"
        overdue = record.overdue_on(self.today) and not record.retired
        return f"{day_text(value)}, overdue" if overdue else day_text(value)
