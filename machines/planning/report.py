"""Planning's part of the service report: meters read and planned work done at the visit."""

from django.utils.text import capfirst

from machines.register.models import Machine
from shop.paper.documents import Column, data_table, heading, key_values

from .board import due_items
from .panels import visit_work_rows

WORK_COLUMNS = [Column("Machine", 1), Column("Planned work", 3), Column("Status", 3)]


def meters(report):
    """What the meters of the machines showed at the visit; one query."""
    readings = report.visit.meter_readings.counted().select_related("machine").oldest_first()
    pairs = [
        (f"Machine {reading.machine.number}, {reading.kind}", _shown(report, reading))
        for reading in readings
    ]
    return (
        [heading("Meters"), key_values(pairs, columns=2 if len(pairs) > 1 else 1)] if pairs else []
    )


def _shown(report, reading):
    new = ", first reading of a new meter" if reading.new_meter else ""
    return f"{reading.value:,} on {report.when(reading.read_at)}{new}"


def planned_work(report):
    """Planned work that was done or skipped at the visit."""
    closings = report.visit.plan_closings.in_effect().select_related("plan", "machine")
    rows = [
        [closing.machine.number, capfirst(str(closing.plan)), _became(closing)]
        for closing in closings.order_by("machine__number", "pk")
    ]
    # Worked out here: a report is made while its visit is signed, and writes nothing else.
    items = [] if report.visit.is_signed else due_items(_machines(report.visit))
    rows += [
        [work.item.machine.number, capfirst(str(work.item.plan)), "done"]
        for work in visit_work_rows(report.visit, items)
        if work.moment is not None
    ]
    return [heading("Planned work"), data_table(WORK_COLUMNS, rows, tight=True)] if rows else []


def _machines(visit):
    return Machine.objects.filter(visited__visit=visit)


def _became(closing):
    return f"{closing.outcome}: {closing.note}" if closing.note else closing.outcome


SECTIONS = [planned_work, meters]
