"""Lists of the alignment app."""

import django_tables2 as tables
from django.template.loader import get_template
from django.utils import timezone
from django.utils.html import format_html

from shop.wording import day_text, time_text

from . import shown
from .models import AcceptanceItem, AcceptanceSheet, Check, Indicator


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
        return shown.measure(record.told_um, self.unit, record)

    def render_expanded_um(self, value):
        return shown.uncertainty(value, self.unit)


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

    def __init__(self, *args, unit, **kwargs):
        super().__init__(*args, **kwargs)
        self.unit, self.today = unit, timezone.localdate()

    def render_resolution_um(self, value):
        return shown.length(value, self.unit)

    def render_error_um(self, value, record):
        return shown.stated_error(
            value, record.error_travel_um, lambda um: shown.length(um, self.unit)
        )

    def render_retired(self, value):
        return "no" if value else "yes"

    def render_calibration_due(self, value, record):
        if value is None:
            return "not recorded"
        overdue = record.overdue_on(self.today) and not record.retired
        return f"{day_text(value)}, overdue" if overdue else day_text(value)


# What few lines of a sheet say; shown where one of them does, taken out as CSV always.
SAID_BY_SOME = {
    "per_mm": lambda item: item.is_tilt,
    "at_mm": lambda item: item.at_mm is not None,
    "nominal_um": lambda item: item.surface == AcceptanceItem.Surface.FLAT,
}


class SheetTable(tables.Table):
    """The lines of an acceptance sheet, in checking order."""

    station = tables.Column(order_by=("station__position", "position"))
    name = tables.Column(linkify=True)
    quantity = tables.Column("Figure")
    surface = tables.Column("Swept")
    datum = tables.Column("Measured from", accessor="station__datum")
    lower_um = tables.Column("Lower limit")
    upper_um = tables.Column("Upper limit")
    factory_um = tables.Column("Factory's own figure")
    per_mm = tables.Column("Per length")
    at_mm = tables.Column("Asked for at")
    nominal_um = tables.Column("Flat stands from the axis by")

    class Meta:
        model = AcceptanceItem
        fields = (
            "station",
            "name",
            "quantity",
            "surface",
            "datum",
            "lower_um",
            "upper_um",
            "factory_um",
            "per_mm",
            "at_mm",
            "nominal_um",
        )
        order_by = "station"
        attrs = {"class": "table"}

    def __init__(self, *args, unit, **kwargs):
        super().__init__(*args, **kwargs)
        self.unit = unit

    def before_render(self, request):
        items = [row.record for row in self.paginated_rows]
        for name, says in SAID_BY_SOME.items():
            if not any(map(says, items)):
                self.columns.hide(name)

    def render_lower_um(self, value, record):
        return shown.stated(value, self.unit, record)

    render_upper_um = render_factory_um = render_lower_um

    def value_lower_um(self, value):
        return value

    value_upper_um = value_factory_um = value_lower_um

    def render_per_mm(self, value, record):
        return f"{value.normalize():f} mm" if record.is_tilt else "–"

    def render_at_mm(self, value):
        return f"{value.normalize():f} mm"

    def value_at_mm(self, value):
        return value

    def render_nominal_um(self, value, record):
        return shown.length(value, self.unit) if record.surface == "flat" else "–"

    def value_nominal_um(self, value, record):
        return value if record.surface == "flat" else ""

    def value_per_mm(self, value, record):
        return value if record.is_tilt else ""


class SheetsTable(tables.Table):
    """The acceptance sheets of a machine, the one in force first."""

    name = tables.Column("Sheet", linkify=True)
    is_current = tables.Column("Stands")
    dated = tables.Column()
    lines = tables.Column()
    scan_count = tables.Column("Scans")
    made_by = tables.Column("Entered by", accessor="made_by__name", order_by="made_by__last_name")

    class Meta:
        model = AcceptanceSheet
        fields = ("name", "is_current", "dated", "lines", "scan_count", "made_by")
        order_by = ("-is_current", "-dated")
        attrs = {"class": "table"}

    def render_is_current(self, value):
        return "in force" if value else "kept"

    def render_dated(self, value):
        return day_text(value)

    def value_dated(self, value):
        return value.isoformat()
