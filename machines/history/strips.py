"""A machine's year as one strip: when it stood, when it was out of service, what is on record."""

from dataclasses import dataclass

from machines.engineering.downtime import month_start
from machines.register.models import Machine

# The strip's length in its own units, and the least a stop is drawn, so that an hour is seen.
LENGTH, LEAST = 1000, 4


@dataclass(frozen=True)
class Strip:
    """(where it begins, how long) of each stretch along a strip of LENGTH; `known`: the time on
    record so far, None before there is any; `months`: where each begins."""

    machine: Machine
    known: tuple[float, float] | None
    stops: tuple[tuple[float, float], ...]
    breaks: tuple[tuple[float, float], ...]
    months: tuple[float, ...]


def strips_of(records, first, months, now):
    """A `Strip` for each `MachineRecord`, of months from that of `first` on, up to now."""
    return [_strip(record, first, months, now) for record in records]


def _strip(record, first, months, now):
    zone = record.machine.shop.zone
    starts = [month_start(first, number, zone) for number in range(months + 1)]
    begin, end = starts[0], starts[-1]

    def along(since, until, least=0.0):
        low, high = max(since, begin), min(until or now, now, end)
        if high <= low:
            return None
        start = LENGTH * (low - begin) / (end - begin)
        width = max(LENGTH * (high - low) / (end - begin), least)
        return min(start, LENGTH - width), width

    def all_of(stretches):
        found = (along(one.since, one.until, LEAST) for one in stretches)
        return tuple(one for one in found if one is not None)

    return Strip(
        machine=record.machine,
        known=along(record.since, None) if record.since else None,
        stops=all_of(record.stops),
        breaks=all_of(record.breaks),
        months=tuple(LENGTH * (start - begin) / (end - begin) for start in starts[:-1]),
    )
