"""When a planned check is due: by date, spindle hours, parts made, an incident or the forecast
risk of drift, whichever comes first.

Dates are days in the shop's zone; moments are datetimes with a zone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from functools import cached_property

from dateutil.relativedelta import relativedelta

from .inputs import positive, whole
from .meters import MeterReading, accumulate, days_utc, projection

BUCKETS = ("overdue", "this week", "this month", "later")
# What counts towards use, by its unit.
USE_KINDS = {"h": "spindle hours", "parts": "parts"}

# A plan or a projection further off than this is none.
_LONGEST_YEARS = 50


@dataclass(frozen=True)
class Interval:
    """How often something is planned; of several, whichever comes first.

    Whole numbers of years, months, weeks and days add up to one calendar step. ``at_risk`` asks
    for the check when the forecast risk of drift says so. ValueError for a step of zero or less
    or of over fifty years, or when nothing is given at all.
    """

    years: int = 0
    months: int = 0
    weeks: int = 0
    days: int = 0
    spindle_hours: float | None = None
    parts: int | None = None
    after_incident: bool = False
    at_risk: bool = False

    def __post_init__(self):
        for unit in ("years", "months", "weeks", "days"):
            whole(getattr(self, unit), f"The number of {unit}", 0)
        if self.spindle_hours is not None:
            positive(self.spindle_hours, "The interval in spindle hours", "h")
        if self.parts is not None:
            whole(self.parts, "The interval in parts", 1)
        usage = self.spindle_hours is not None or self.parts is not None
        if not (self.calendar or usage or self.after_incident or self.at_risk):
            raise ValueError(
                "A plan needs an interval above zero: a time, spindle hours or parts made; or it "
                "must follow an incident or the risk of drift."
            )
        if self.years + self.months / 12 + self.weeks / 52 + self.days / 365 > _LONGEST_YEARS:
            raise ValueError(f"An interval of more than {_LONGEST_YEARS} years is no plan.")

    @cached_property
    def calendar(self) -> relativedelta:
        """The calendar step; false when there is none."""
        return relativedelta(years=self.years, months=self.months, weeks=self.weeks, days=self.days)

    @property
    def in_words(self) -> str:
        """The calendar step: 'every month', 'every 2 years and 6 months'."""
        named = [
            f"{count} {unit}s" if count > 1 else unit
            for unit in ("year", "month", "week", "day")
            if (count := getattr(self, f"{unit}s"))
        ]
        return "every " + " and ".join(named)


@dataclass(frozen=True)
class WorkRecord:
    """What the record says of one plan on one machine.

    ``since`` is when it was last done, or when the plan began if ``never_done``. For a plan that
    counts from the day due, ``anchor`` is its first day and ``closed_due`` the day the last closed
    item was due; without an anchor the next counts from the day done. ``risk_on`` is the day
    the forecast risk of drift reaches ``risk``. On days ``closed`` the machine runs as on a Sunday.
    """

    since: datetime
    never_done: bool = False
    anchor: date | None = None
    closed_due: date | None = None
    hours: tuple[MeterReading, ...] = ()
    parts: tuple[MeterReading, ...] = ()
    incidents: tuple[datetime, ...] = ()
    risk_on: date | None = None
    risk: float | None = None
    in_service: bool = True
    closed: tuple[date, ...] = ()


@dataclass(frozen=True)
class Due:
    """When something is due and why, in one phrase.

    ``on`` is None while no date can be told (no meter readings, or a machine standing still).
    ``earliest`` and ``latest`` hold a projected date with 90 %; None where they cannot be told.
    ``passed`` means that the meter has been read beyond the hours or parts.
    """

    on: date | None
    reason: str
    kind: str
    earliest: date | None = None
    latest: date | None = None
    passed: bool = False

    @property
    def is_unbounded(self) -> bool:
        """Whether the day is projected, but not between which days it may lie."""
        by_use = self.kind in USE_KINDS.values()
        return by_use and self.on is not None and not self.passed and self.earliest is None

    def bucket(self, today: date) -> str:
        """One of ``BUCKETS``. Weeks end on Sunday (ISO 8601); what is due today is this week."""
        if self.passed or (self.on is not None and self.on < today):
            return "overdue"
        if self.on is None:
            return "later"
        if self.on <= today + timedelta(days=7 - today.isoweekday()):
            return "this week"
        same_month = (self.on.year, self.on.month) == (today.year, today.month)
        return "this month" if same_month else "later"


def due(interval: Interval, record: WorkRecord, now: datetime, zone: tzinfo) -> Due | None:
    """What falls due first, as a ``Due``; None on a machine taken out of service, or for a plan
    that waits for an incident or a risk that has not come.

    ``zone`` is the shop's: it decides which day a moment belongs to. Never before the day last
    done. ValueError for times without a zone or a meter that goes down.
    """
    days_utc(now)
    if not record.in_service:
        return None
    clock = _Clock(now, zone, _day(record.since, zone))
    found = list(_candidates(interval, record, clock))
    dated = [candidate for candidate in found if candidate.on is not None]
    if dated:
        return min(dated, key=lambda candidate: candidate.on)
    return found[0] if found else None


def next_by_date(
    interval: Interval, done: date, anchor: date | None = None, closed_due: date | None = None
) -> date:
    """The next date of a calendar step.

    From the day done when ``anchor`` is None. Else the first of anchor, anchor + 1 step, anchor +
    2 steps … after both the day done and the day the closed item was due. Steps are counted from
    the anchor, so that a plan of the 31st comes back to the 31st after a short month. ValueError
    for an interval without a calendar step.
    """
    if not interval.calendar:
        raise ValueError("This interval has no time in it, so no next date follows from it.")
    if anchor is None:
        return done + interval.calendar
    after = max(done, closed_due or done)
    steps = 0
    while (day := anchor + interval.calendar * steps) <= after:
        steps += 1
    return day


@dataclass(frozen=True)
class _Clock:
    """The moment of asking, the shop's zone, and the day last done in it."""

    now: datetime
    zone: tzinfo
    done: date

    def not_before_done(self, moment: datetime | None) -> date | None:
        return None if moment is None else max(_day(moment, self.zone), self.done)


def _candidates(interval: Interval, record: WorkRecord, clock: _Clock) -> Iterator[Due]:
    if interval.calendar:
        yield _by_date(interval, record, clock.done)
    if interval.spindle_hours is not None:
        yield _by_use(float(interval.spindle_hours), "h", record.hours, record, clock)
    if interval.parts is not None:
        yield _by_use(interval.parts, "parts", record.parts, record, clock)
    if interval.after_incident:
        yield from _by_incident(record, clock.zone)
    if interval.at_risk and record.risk_on is not None:
        share = "" if record.risk is None else f" reaches {100 * record.risk:.0f} %"
        yield Due(max(record.risk_on, clock.done), f"risk of drift{share}", "risk")


def _day(moment: datetime, zone: tzinfo) -> date:
    days_utc(moment)
    return moment.astimezone(zone).date()


def _by_date(interval: Interval, record: WorkRecord, done: date) -> Due:
    last = "never done" if record.never_done else f"last {_shown(done)}"
    return Due(
        next_by_date(interval, done, record.anchor, record.closed_due),
        f"{interval.in_words}, {last}",
        "date",
    )


def _by_incident(record: WorkRecord, zone: tzinfo) -> Iterator[Due]:
    since = days_utc(record.since)
    later = [moment for moment in record.incidents if days_utc(moment) > since]
    if later:
        first = _day(min(later, key=days_utc), zone)
        yield Due(first, f"incident on {_shown(first)}", "incident")


def _by_use(
    limit: float, unit: str, readings: tuple[MeterReading, ...], record: WorkRecord, clock: _Clock
) -> Due:
    totals = accumulate(readings)
    kind = USE_KINDS[unit]
    if not len(totals):
        return Due(None, f"every {limit:,.0f} {unit}, no meter reading yet", kind)
    start = totals.at(_counted_from(record, clock))
    used = float(totals.totals[-1]) - start
    found = projection(totals, start + limit, record.since, clock.zone, record.closed)
    about = ""
    if not found.read and found.rate:
        read = max(totals.days[-1], days_utc(record.since))
        used_now = used + found.rate.between(read, days_utc(clock.now))
        about = "about " if round(used_now) > round(used) else ""
        used = max(used, used_now)
    return Due(
        on=clock.not_before_done(found.at),
        reason=f"{about}{used:,.0f} of {limit:,.0f} {unit}",
        kind=kind,
        earliest=clock.not_before_done(found.earliest),
        latest=clock.not_before_done(found.latest),
        passed=found.read and used > limit,
    )


def _counted_from(record: WorkRecord, clock: _Clock) -> datetime:
    """The moment from which use counts: when it was done, or the day due if that was sooner."""
    if record.anchor is None or record.closed_due is None or record.closed_due >= clock.done:
        return record.since
    return datetime.combine(record.closed_due, time.min, tzinfo=clock.zone)


def _shown(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
