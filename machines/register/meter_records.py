"""What changes meter readings, and what they come to."""

from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from machines.engineering.meters import Totals, accumulate, usage_rate
from machines.engineering.use import Use
from shop.web.errors import Refused

from .meters import counted, one_reader_at_a_time, refuse_going_down
from .models import MeterReading


@transaction.atomic
def leave_out(reading, *, by, why):
    """Keep a reading found wrong on record, but count it no longer."""
    if not reading.counts:
        raise Refused("This reading is left out already.")
    if not why.strip():
        raise Refused("Say why it does not count.")
    one_reader_at_a_time([reading.machine])
    reading.left_out_at = timezone.now()
    reading.left_out_by = by
    reading.left_out_why = why.strip()
    reading.save(update_fields=["left_out_at", "left_out_by", "left_out_why"])
    refuse_going_down(reading.machine, reading.kind)
    return reading


@transaction.atomic
def bring_in(rows, *, made_by):
    """Record readings from a list, all or none; returns how many were new.

    rows: objects with machine, kind, read_at, value and new_meter. A reading that is on record
    already, the same to the digit, is passed over, so that a list brought in twice changes
    nothing. Raises Refused where one differs or a meter would go down.
    """
    one_reader_at_a_time([row.machine for row in rows])
    new = [row for row in rows if not _on_record(row)]
    now = timezone.now()
    MeterReading.objects.bulk_create(
        MeterReading(
            machine=row.machine,
            kind=row.kind,
            read_at=row.read_at,
            value=row.value,
            new_meter=row.new_meter,
            made_by=made_by,
            made_at=now,
        )
        for row in new
    )
    for machine, kind in {(row.machine, row.kind) for row in new}:
        refuse_going_down(machine, kind)
    return len(new)


def _on_record(row):
    same = row.machine.meter_readings.counted().filter(kind=row.kind, read_at=row.read_at).first()
    if same is not None and same.value != row.value:
        raise Refused(
            f"Machine {row.machine.number}: the {same.kind} read at {row.read_at:%Y-%m-%d %H:%M} "
            f"UTC are {same.value:,} on record, not {row.value:,}. Leave the wrong one out first."
        )
    return same is not None


@dataclass(frozen=True)
class MeterStanding:
    """What one meter of a machine says today; the last reading, by its kind, read_at, value and
    new_meter, is None before the first."""

    kind: str
    last: tuple | None
    totals: Totals
    rate: Use | None

    @property
    def total(self):
        """Counted since the first reading, over replaced meters."""
        return Decimal(str(round(float(self.totals.totals[-1]), 1))) if len(self.totals) else None

    @property
    def per_week(self):
        """Use in a week as (likely, least, most); the bounds are None where they are not known."""
        if self.rate is None:
            return None
        use = self.rate
        return [None if v is None else 7 * v for v in (use.per_day, use.low, use.high)]


def standings(machine):
    """What each meter of a machine says today; two queries."""
    columns = ("kind", "read_at", "value", "new_meter")
    readings = machine.meter_readings.counted().oldest_first().values_list(*columns, named=True)
    closed = machine.shop.closed_days.days_by_shop()[machine.shop_id]
    return [
        _standing(kind, [one for one in readings if one.kind == kind], machine.shop.zone, closed)
        for kind in MeterReading.Kind
    ]


def _standing(kind, readings, zone, closed):
    totals = accumulate(map(counted, readings))
    rate = usage_rate(totals, zone=zone, closed=closed)
    return MeterStanding(kind, readings[-1] if readings else None, totals, rate)
