"""Lists of machines and meter readings."""

import django_tables2 as tables
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import format_html

from shop.web.wording import day_text, time_text

from .models import Machine, MeterReading

STOPPED, MAY_RUN, OUT = ("stopped", "until looked at"), "may run", "out of service"


class MachineTable(tables.Table):
    """Machines, with whether each may run and when it was last visited.

    The rows come from `with_stop_state().with_last_visit()` with their shop, so that a page costs
    one query however many rows it has. `pictures`: machine pk to its small picture, of the page.
    """

    pictures: dict = {}

    picture = tables.Column(
        accessor="pk",
        verbose_name="alignment",
        orderable=False,
        exclude_from_export=True,
        empty_values=(),
    )
    number = tables.Column(linkify=True)
    name = tables.Column(linkify=True)
    shop = tables.Column()
    standing = tables.Column(accessor="stopped", verbose_name="state", order_by="-stopped")
    last_visit = tables.Column(
        accessor="last_visit_at",
        order_by="last_visit_at",
        linkify=lambda record: (
            reverse("shop:visit", args=[record.last_visit_id]) if record.last_visit_id else None
        ),
    )

    class Meta:
        model = Machine
        fields = ("number", "name", "shop", "standing", "picture", "last_visit")
        order_by = ("shop", "number")
        empty_text = "No machine is on record yet"

    def render_picture(self, record):
        drawn = self.pictures.get(record.pk)
        if drawn is None:
            return "no stations yet"
        return render_to_string("machines/_small_machine.html", {"drawn": drawn})

    def render_standing(self, record, value):
        if value:
            return format_html('<strong class="badge urgent">{}</strong> {}', *STOPPED)
        return self.value_standing(record, value)

    def value_standing(self, record, value):
        if value:
            return " ".join(STOPPED)
        return OUT if record.is_out_of_service else MAY_RUN

    def render_last_visit(self, record, value):
        return day_text(value.astimezone(record.shop.zone))

    def value_last_visit(self, record, value):
        return f"{value.astimezone(record.shop.zone):%Y-%m-%d}"


class MeterReadingTable(tables.Table):
    """A machine's meter readings, newest first, those left out of the sums among them."""

    read_at = tables.Column(verbose_name="read")
    kind = tables.Column(verbose_name="meter")
    value = tables.Column(verbose_name="showed", attrs={"td": {"class": "num"}})
    counts = tables.Column(verbose_name="remarks", orderable=False, empty_values=())
    made_by = tables.Column(accessor="made_by__name", verbose_name="by", orderable=False)

    class Meta:
        model = MeterReading
        fields = ("read_at", "kind", "value", "counts", "made_by")
        order_by = "-read_at"
        empty_text = "No reading yet"

    def render_read_at(self, record, value):
        return time_text(value, record.machine.shop.zone)

    def value_read_at(self, record, value):
        return f"{value.astimezone(record.machine.shop.zone):%Y-%m-%d %H:%M}"

    def render_value(self, value):
        return f"{value:,}"

    def value_value(self, value):
        return value

    def render_counts(self, record):
        if not record.counts:
            return f"does not count: {record.left_out_why}"
        remarks = "new meter" if record.new_meter else ""
        return format_html(
            '{} <a href="{}">Ignore it</a>',
            remarks,
            reverse("machines:leave_reading_out", args=[record.pk]),
        )

    def value_counts(self, record):
        if not record.counts:
            return f"does not count: {record.left_out_why}"
        return "new meter" if record.new_meter else ""
