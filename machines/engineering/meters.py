"""Meters that count spindle hours or parts: totals over replaced meters, and the rate of use."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from itertools import pairwise

import numpy as np

from .inputs import between_zero_and_one, finite, not_negative, positive
from .use import Use, use_of

# How far back use counts as recent, and how far back to go for a few readings where it shows fewer
# (common practice, no source).
RECENT_DAYS = 120
_A_FEW = 4
_FURTHEST_DAYS = 400

# A projection further off than fifty years is none.
_LONGEST_DAYS = 50 * 365.25

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class MeterReading:
    """What a meter showed at a moment (a datetime with its zone).

    ``new_meter`` marks the first reading of a meter that was replaced or set back: what it showed
    when it took over. What the old one counted after its last reading is not known and not added.
    """

    at: datetime
    value: float
    new_meter: bool = False


@dataclass(frozen=True)
class Totals:
    """Total counted since the first reading, over all meters; ``days`` are days since 1970 in
    UTC, rising, so that neither clock changes nor zones bend a rate."""

    days: np.ndarray
    totals: np.ndarray

    def __len__(self) -> int:
        return len(self.days)

    def at(self, moment: datetime) -> float:
        """Total at a moment, in a straight line between readings and level outside them."""
        return float(np.interp(days_utc(moment), self.days, self.totals))

    def reached(self, total: float) -> datetime | None:
        """When a total was first reached; None while it is not."""
        if not len(self) or self.totals[-1] < total:
            return None
        after = int(np.searchsorted(self.totals, total))
        if after == 0:
            return moment_utc(self.days[0])
        pair = slice(after - 1, after + 1)
        return moment_utc(float(np.interp(total, self.totals[pair], self.days[pair])))


@dataclass(frozen=True)
class Projection:
    """When a total is reached: ``read`` off the meter already, or projected at the recent use.
    None where no date can be told, or none within fifty years."""

    at: datetime | None
    earliest: datetime | None
    latest: datetime | None
    read: bool
    rate: Use | None


def accumulate(readings: Iterable[MeterReading]) -> Totals:
    """Totals from readings in any order.

    ValueError for a negative reading, a time without a zone, or a meter that goes down without
    being marked as new.
    """
    ordered = sorted(readings, key=lambda r: (days_utc(r.at), r.new_meter, r.value))
    values = [not_negative(reading.value, "A meter reading") for reading in ordered]
    totals = [0.0] if values else []
    for (before, reading), (last, value) in zip(pairwise(ordered), pairwise(values), strict=True):
        step = 0.0 if reading.new_meter else value - last
        if step < 0:
            raise ValueError(
                f"The meter goes down from {before.value:,} on {before.at:%d %b %Y} to "
                f"{reading.value:,} on {reading.at:%d %b %Y}. Correct the reading, or mark it as "
                "the first of a new meter."
            )
        totals.append(totals[-1] + step)
    return Totals(np.array([days_utc(r.at) for r in ordered]), np.array(totals))


def usage_rate(
    readings: Iterable[MeterReading] | Totals,
    recent_days: float = RECENT_DAYS,
    confidence: float = 0.90,
    zone: tzinfo = UTC,
    closed: Collection[date] = (),
) -> Use | None:
    """Use per day over the last ``recent_days`` before the newest reading.

    ``zone`` and the days ``closed`` are the shop's. Where fewer are recent, the last four readings
    of somewhat over a year are taken, else the last two; None when there are not two readings at
    different times.
    """
    positive(recent_days, "The recent days")
    confidence = between_zero_and_one(confidence, "The confidence")
    found = readings if isinstance(readings, Totals) else accumulate(readings)
    days, totals = _one_per_moment(found)
    if len(days) < 2:
        return None
    recent, of_a_year = (
        int((days >= days[-1] - back).sum()) for back in (recent_days, _FURTHEST_DAYS)
    )
    recent = max(recent, min(of_a_year, _A_FEW), 2)
    # One offset serves: a clock change moves some days by an hour.
    offset = moment_utc(days[-1]).astimezone(zone).utcoffset() / _DAY
    closed = frozenset((day - _EPOCH.date()).days for day in closed)
    return use_of(days[-recent:], totals[-recent:], confidence, closed, offset)


def projection(
    totals: Totals,
    target: float,
    since: datetime,
    zone: tzinfo = UTC,
    closed: Collection[date] = (),
) -> Projection:
    """When ``target`` is reached, counting on from the last reading or ``since``, the later.

    ``earliest`` and ``latest`` hold the day with 90 % if use goes on as it was.
    No date for a machine standing still, without a rate, or further off than fifty years.
    ValueError without readings.
    """
    if not len(totals):
        raise ValueError("Without a meter reading nothing can be projected.")
    target = finite(target, "The total")
    reached = totals.reached(target)
    if reached is not None:
        return Projection(reached, reached, reached, True, None)
    rate = usage_rate(totals, zone=zone, closed=closed)
    if rate is None:
        return Projection(None, None, None, False, None)
    start = max(float(totals.days[-1]), days_utc(since))
    left = target - float(totals.totals[-1])
    moments = [_after(rate, start, days) for days in rate.days_until(left)]
    return Projection(*moments, read=False, rate=rate)


def _after(rate: Use, start: float, days: float | None) -> datetime | None:
    if days is None or not days <= _LONGEST_DAYS:
        return None
    return moment_utc(rate.week.after(start, days))


def days_utc(moment: datetime) -> float:
    """Days since 1970 in UTC. ValueError for a time without a zone."""
    if not isinstance(moment, datetime) or moment.utcoffset() is None:
        raise ValueError(f"A moment needs its time zone; {moment} has none.")
    # Via UTC: two times of one zone subtract by the clock on the wall, an hour off over a change.
    try:
        return (moment.astimezone(UTC) - _EPOCH) / _DAY
    except OverflowError:
        raise ValueError(f"{moment} lies outside the calendar.") from None


def moment_utc(days: float) -> datetime:
    """The moment, in UTC, of days since 1970. ValueError outside the calendar."""
    try:
        return _EPOCH + float(days) * _DAY
    except OverflowError:
        raise ValueError(f"{days:g} days since 1970 lie outside the calendar.") from None


def _one_per_moment(found: Totals) -> tuple[np.ndarray, np.ndarray]:
    # The last reading of an old meter and the first of the new share a moment and a total.
    keep = np.append(np.diff(found.days) > 0, True)[: len(found)]
    return found.days[keep], found.totals[keep]
