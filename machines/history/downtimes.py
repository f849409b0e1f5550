"""How long the machines of a shop stood still, from the record, in a fixed number of queries."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import OuterRef, Q, Subquery
from django.utils import timezone
from django.utils.text import capfirst

from machines.engineering.downtime import Downtime, MonthTimes, Stretch, downtime, month_start
from machines.incidents.models import Incident
from machines.register.models import Machine, MeterReading, ServiceBreak, Standstill, VisitedMachine

NO_INCIDENT = "Stopped without an incident"


@dataclass(frozen=True)
class MachineRecord:
    """What is on record of a machine's time: from when on, None before, its standstills, and when
    it was out of service."""

    machine: Machine
    since: datetime | None
    stops: tuple[Stretch, ...]
    breaks: tuple[Stretch, ...]


@dataclass(frozen=True)
class MachineTimes:
    """A machine and what became of its time; `since` is when its record begins, None before."""

    machine: Machine
    times: Downtime
    since: datetime | None


@dataclass(frozen=True)
class MonthRow:
    """A month, or several together, over one machine or several: time stopped by cause, and its
    sums. `first` is the month's first day, None for several."""

    first: date | None
    by_cause: tuple[timedelta, ...]
    stopped: timedelta
    running: timedelta
    out: timedelta

    @property
    def percent_stopped(self):
        """Of the time in service, None without any."""
        in_service = self.stopped + self.running
        return 100 * self.stopped / in_service if in_service else None


def times_of(machines, first, months, *, now=None):
    """The `MachineTimes` of `machines` (a queryset of one shop's) over months from that of `first`
    on, longest stopped first; three queries."""
    return times_in(records_of(machines, first, months), first, months, now=now)


def records_of(machines, first, months):
    """The `MachineRecord`s of `machines` (a queryset of one shop's) that bear on months from that
    of `first` on; three queries."""
    found = list(_with_record(machines.select_related("shop")))
    if not found:
        return []
    zone = found[0].shop.zone
    stops = _stops(found, month_start(first, 0, zone), month_start(first, months, zone))
    breaks = _breaks(found, zone)
    return [
        MachineRecord(
            machine=one,
            since=min((moment for moment in _firsts(one) if moment is not None), default=None),
            stops=tuple(stops[one.pk]),
            breaks=tuple(breaks[one.pk]),
        )
        for one in found
    ]


def times_in(records, first, months, *, now=None):
    """The `MachineTimes` up to now by what is on record, longest stopped first."""
    now = now or timezone.now()
    rows = [
        MachineTimes(
            record.machine,
            downtime(
                [stop for stop in record.stops if stop.since < now],
                first,
                months,
                record.machine.shop.zone,
                now,
                out=record.breaks,
                since=record.since or now,
            ),
            record.since,
        )
        for record in records
    ]
    return sorted(rows, key=lambda row: (-row.times.stopped, row.machine.number))


def _with_record(machines):
    """With the first of each kind of record, from which on its time counts."""
    return machines.annotate(
        first_incident=_first(Incident.objects.all(), "happened_at"),
        first_stop=_first(Standstill.objects.all(), "began_at"),
        first_visit=_first(
            VisitedMachine.objects.exclude(visit__arrived_at=None), "visit__arrived_at"
        ),
        first_reading=_first(MeterReading.objects.counted(), "read_at"),
    )


def _first(records, moment):
    oldest = records.filter(machine=OuterRef("pk")).order_by(moment)
    return Subquery(oldest.values(moment)[:1])


def _firsts(machine):
    return machine.first_incident, machine.first_stop, machine.first_visit, machine.first_reading


def _stops(machines, begin, end):
    """Machine pk to its standstills that touch a time, each with its cause."""
    found = Standstill.objects.filter(
        Q(ended_at__isnull=True) | Q(ended_at__gt=begin), machine__in=machines, began_at__lt=end
    ).select_related("incident")
    stops = defaultdict(list)
    for one in found:
        cause = capfirst(one.incident.get_kind_display()) if one.incident else NO_INCIDENT
        stops[one.machine_id].append(Stretch(one.began_at, one.ended_at, cause))
    return stops


def _breaks(machines, zone):
    """Machine pk to its times out of service, from midnight to midnight in the shop's zone."""
    breaks = defaultdict(list)
    for one in ServiceBreak.objects.filter(machine__in=machines):
        until = _midnight(one.back_on, zone) if one.back_on else None
        breaks[one.machine_id].append(Stretch(_midnight(one.out_on, zone), until))
    return breaks


def _midnight(day, zone):
    return datetime.combine(day, time.min, tzinfo=zone)


def causes_of(rows):
    """Every cause among some `MachineTimes`, the one that took longest first."""
    total = defaultdict(timedelta)
    for row in rows:
        for cause, span in row.times.by_cause.items():
            total[cause] += span
    return sorted(total, key=lambda cause: (-total[cause], cause))


def month_rows(rows):
    """The `MonthRow`s of some `MachineTimes` taken together, by cause as in `causes_of`."""
    causes = causes_of(rows)
    by_month = zip(*(row.times.months for row in rows), strict=True)
    return [_month_row(months, causes) for months in by_month]


def _month_row(months: tuple[MonthTimes, ...], causes):
    none = timedelta(0)
    return MonthRow(
        first=months[0].first,
        by_cause=tuple(
            sum((month.stopped.get(cause, none) for month in months), none) for cause in causes
        ),
        stopped=sum((month.total_stopped for month in months), none),
        running=sum((month.running for month in months), none),
        out=sum((month.out for month in months), none),
    )


def total_of(months):
    """What `MonthRow`s come to together."""
    return MonthRow(
        first=None,
        by_cause=tuple(
            sum(spans, timedelta(0))
            for spans in zip(*(month.by_cause for month in months), strict=True)
        ),
        stopped=sum((month.stopped for month in months), timedelta(0)),
        running=sum((month.running for month in months), timedelta(0)),
        out=sum((month.out for month in months), timedelta(0)),
    )


def csv_rows(rows):
    """A dictionary for each machine, month and cause, and for the time running and out of service;
    nothing for what came to no time."""
    for row in rows:
        for month in row.times.months:
            spans = [
                *month.stopped.items(),
                ("running", month.running),
                ("out of service", month.out),
            ]
            for cause, span in spans:
                if span:
                    yield {
                        "machine": row.machine.number,
                        "month": month.first,
                        "what": cause,
                        "hours": round(span / timedelta(hours=1), 2),
                    }
