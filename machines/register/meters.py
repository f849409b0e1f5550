"""What a machine's meters read, and that they only go up."""

from machines.engineering.meters import MeterReading as Counted
from machines.engineering.meters import accumulate
from shop.web.errors import Refused

from .models import Machine, MeterReading


def one_reader_at_a_time(machines):
    """Lock the machines until the transaction ends: of two readings entered at the same moment,
    each held against those before, the second must see the first."""
    rows = Machine.objects.select_for_update(no_key=True, of=("self",)).order_by("pk")
    list(rows.filter(pk__in=[machine.pk for machine in machines]).values_list("pk"))


def refuse_going_down(machine, kind):
    """Raise Refused when a machine's meter goes down without being marked as a new one."""
    try:
        meter_totals(machine, kind)
    except ValueError as error:
        raise Refused(f"Machine {machine.number}, {kind}. {error}") from error


def meter_totals(machine, kind=MeterReading.Kind.SPINDLE_HOURS):
    """What a machine's meter counted since its first reading, over all meters; one query."""
    return accumulate(map(counted, machine.meter_readings.counted().filter(kind=kind)))


def counted(reading):
    """A stored reading as the arithmetic takes it."""
    return Counted(reading.read_at, float(reading.value), reading.new_meter)
