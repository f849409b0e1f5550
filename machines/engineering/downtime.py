"""How long a machine stood still and how long it could run, month by month and by cause."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from itertools import pairwise
from zoneinfo import ZoneInfo

NONE = timedelta(0)


@dataclass(frozen=True)
class Stretch:
    """A stretch of time; ``until`` is None while it goes on. ``cause`` says why, if it matters."""

    since: datetime
    until: datetime | None
    cause: str = ""


@dataclass(frozen=True)
class MonthTimes:
    """What became of one month: ``stopped`` by cause, ``running`` and ``out`` of service.

    The three add up to the part of the month that lies on record. Running is all the time that a
    machine was not stopped, shifts or not.
    """

    first: date
    stopped: dict[str, timedelta] = field(default_factory=dict)
    running: timedelta = NONE
    out: timedelta = NONE

    @property
    def total_stopped(self) -> timedelta:
        return sum(self.stopped.values(), NONE)


@dataclass(frozen=True)
class Downtime:
    """Months in their order, and what they come to."""

    months: tuple[MonthTimes, ...]

    @cached_property
    def by_cause(self) -> dict[str, timedelta]:
        """Time stopped by cause, the longest first."""
        total: dict[str, timedelta] = defaultdict(timedelta)
        for month in self.months:
            for cause, span in month.stopped.items():
                total[cause] += span
        return dict(sorted(total.items(), key=lambda pair: (-pair[1], pair[0])))

    @property
    def stopped(self) -> timedelta:
        return sum(self.by_cause.values(), NONE)

    @property
    def running(self) -> timedelta:
        return sum((month.running for month in self.months), NONE)

    @property
    def out(self) -> timedelta:
        return sum((month.out for month in self.months), NONE)


def downtime(
    stops: Iterable[Stretch],
    first: date,
    months: int,
    zone: ZoneInfo,
    now: datetime,
    *,
    out: Iterable[Stretch] = (),
    since: datetime | None = None,
) -> Downtime:
    """What became of ``months`` months from the one of the day ``first`` on.

    Months begin at midnight in ``zone``; spans are real time, so a month in which the clocks
    change is an hour shorter or longer. Nothing counts after ``now``, nor before ``since``, when
    the record begins. A stop that goes on counts to now; where stops overlap the time counts once,
    for the one that began first; time ``out`` of service counts for neither. Raises ValueError for
    fewer than one month, a moment without its zone, or a stretch that ends before it begins.
    """
    if months < 1:
        raise ValueError(f"Downtime needs a month at least, not {months}.")
    now = _utc(now)
    away = _apart(out, now)
    stood = [piece for stop in _apart(stops, now) for piece in _without(stop, away)]
    edges = [month_start(first, count, zone) for count in range(months + 1)]
    known = Stretch(_utc(since) if since else edges[0], now)
    return Downtime(
        tuple(
            _month(month_first(first, count), _overlap(known, Stretch(*ends)), stood, away)
            for count, ends in enumerate(pairwise(edges))
        )
    )


def month_first(day: date, later: int) -> date:
    """The first day of the month ``later`` months after that of ``day``."""
    years, month = divmod(day.month - 1 + later, 12)
    return date(day.year + years, month + 1, 1)


def month_start(day: date, later: int, zone: ZoneInfo) -> datetime:
    """The moment, in UTC, at which the month ``later`` months after that of ``day`` begins."""
    return datetime.combine(month_first(day, later), time.min, tzinfo=zone).astimezone(UTC)


def _month(first, known, stood, away):
    if known is None:
        return MonthTimes(first)
    stopped: dict[str, timedelta] = defaultdict(timedelta)
    for stop in stood:
        if part := _overlap(stop, known):
            stopped[stop.cause] += _span(part)
    out = sum((_span(part) for gone in away if (part := _overlap(gone, known))), NONE)
    running = _span(known) - sum(stopped.values(), NONE) - out
    return MonthTimes(first, dict(stopped), running, out)


def _apart(stretches: Iterable[Stretch], now: datetime) -> list[Stretch]:
    """The stretches in UTC, by their beginning, each without what an earlier one covers."""
    apart: list[Stretch] = []
    for one in sorted((_closed(one, now) for one in stretches), key=lambda one: one.since):
        since = max(one.since, apart[-1].until) if apart else one.since
        if since < one.until:
            apart.append(Stretch(since, one.until, one.cause))
    return apart


def _closed(one, now):
    since, until = _utc(one.since), now if one.until is None else _utc(one.until)
    if one.until is not None and until < since:
        raise ValueError(f"A stretch cannot end at {until}, before it began at {since}.")
    return Stretch(since, until, one.cause)


def _without(stop: Stretch, away: Sequence[Stretch]) -> Iterable[Stretch]:
    """What is left of a stop outside stretches that lie apart and in order."""
    since = stop.since
    for gone in away:
        if part := _overlap(Stretch(since, stop.until), gone):
            yield Stretch(since, part.since, stop.cause)
            since = part.until
    yield Stretch(since, stop.until, stop.cause)


def _overlap(one, other):
    since, until = max(one.since, other.since), min(one.until, other.until)
    return Stretch(since, until) if since < until else None


def _span(one):
    return one.until - one.since


def _utc(moment):
    if moment.utcoffset() is None:
        raise ValueError(f"A moment needs its time zone; {moment} has none.")
    # Two times of one zone subtract by the clock on the wall, an hour off over a change.
    return moment.astimezone(UTC)
