"""Lists of sheets and of their lines."""

import django_tables2 as tables

from shop.web.wording import day_text

from . import formatting
from .models import AcceptanceItem, AcceptanceSheet

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
        return formatting.stated(value, self.unit, record)

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
        return formatting.nominal(record, self.unit) if record.surface == "flat" else "–"

    def value_nominal_um(self, value, record):
        return value if record.surface == "flat" else ""

    def value_per_mm(self, value, record):
        return value if record.is_tilt else ""


class SheetsTable(tables.Table):
    """The acceptance sheets of a machine, the one in force first."""

    name = tables.Column("Sheet", linkify=True)
    is_current = tables.Column("State")
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
