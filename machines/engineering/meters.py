"""Meters that count spindle hours or parts: totals over replaced meters, and the rate of use."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from scipy.stats import theilslopes

from .inputs import between_zero_and_one, not_negative, positive

# How far back use counts as recent, and how many readings are plenty to tell a rate from
# (common practice, no source).
RECENT_DAYS = 120
_PLENTY = 200

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
class UsageRate:
    """Use per calendar day. ``low`` and ``high`` are None with two readings, which show a rate
    but not how steady it is."""

    per_day: float
    low: float | None
    high: float | None
    readings: int


@dataclass(frozen=True)
class Projection:
    """When a total is reached: ``read`` off the meter already, or projected at the present rate.
    None where no date can be told."""

    at: datetime | None
    earliest: datetime | None
    latest: datetime | None
    read: bool
    rate: UsageRate | None


def accumulate(readings: Iterable[MeterReading]) -> Totals:
    """Totals from readings in any order.

    ValueError for a negative reading, a time without a zone, or a meter that goes down without
    being marked as new.
    """
    ordered = sorted(readings, key=lambda r: (days_utc(r.at), r.new_meter, r.value))
    totals: list[float] = []
    for index, reading in enumerate(ordered):
        value = not_negative(reading.value, "A meter reading")
        if index == 0:
            totals.append(0.0)
            continue
        before = ordered[index - 1]
        step = 0.0 if reading.new_meter else value - float(before.value)
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
) -> UsageRate | None:
    """Use per day over the last ``recent_days`` before the newest reading.

    Median of the slopes between all pairs of readings with its rank interval (Theil–Sen), so that
    a mistyped reading or an idle week does not bend it. Falls back on the last two readings when
    fewer are recent; None when there are not two readings at different times.
    """
    positive(recent_days, "The recent days")
    between_zero_and_one(confidence, "The confidence")
    found = readings if isinstance(readings, Totals) else accumulate(readings)
    days, totals = _one_per_moment(found)
    if len(days) < 2:
        return None
    recent = np.flatnonzero(days >= days[-1] - recent_days)
    chosen = _thinned(recent if len(recent) >= 2 else np.arange(len(days) - 2, len(days)))
    if len(chosen) == 2:
        # One pair has one slope; the lists of what is due ask for thousands of these.
        (first, last), (before, after) = days[chosen], totals[chosen]
        return UsageRate(float((after - before) / (last - first)), None, None, 2)
    slope, _, low, high = theilslopes(totals[chosen], days[chosen], confidence)
    return UsageRate(
        per_day=float(slope),
        low=float(low),
        high=float(high),
        readings=len(chosen),
    )


def projection(totals: Totals, target: float, since: datetime) -> Projection:
    """When ``target`` is reached, counting on from the last reading or ``since``, the later.

    ``earliest`` and ``latest`` follow the interval of the rate. No date for a machine standing
    still, without a rate, or further off than fifty years. ValueError without readings.
    """
    if not len(totals):
        raise ValueError("Without a meter reading nothing can be projected.")
    reached = totals.reached(target)
    if reached is not None:
        return Projection(reached, reached, reached, True, None)
    rate = usage_rate(totals)
    if rate is None:
        return Projection(None, None, None, False, None)
    start = max(float(totals.days[-1]), days_utc(since))
    left = target - float(totals.totals[-1])
    moments = [_after(start, left, pace) for pace in (rate.per_day, rate.high, rate.low)]
    return Projection(*moments, read=False, rate=rate)


def _after(start: float, left: float, per_day: float | None) -> datetime | None:
    if not per_day or left / per_day > _LONGEST_DAYS:
        return None
    return moment_utc(start + left / per_day)


def days_utc(moment: datetime) -> float:
    """Days since 1970 in UTC. ValueError for a time without a zone."""
    if not isinstance(moment, datetime) or moment.utcoffset() is None:
        raise ValueError(f"A moment needs its time zone; {moment} has none.")
    # Via UTC: two times of one zone subtract by the clock on the wall, an hour off over a change.
    return (moment.astimezone(UTC) - _EPOCH) / _DAY


def moment_utc(days: float) -> datetime:
    """The moment, in UTC, of days since 1970."""
    return _EPOCH + float(days) * _DAY


def _one_per_moment(found: Totals) -> tuple[np.ndarray, np.ndarray]:
    # The last reading of an old meter and the first of the new share a moment and a total.
    keep = np.append(np.diff(found.days) > 0, True)[: len(found)]
    return found.days[keep], found.totals[keep]


def _thinned(indices: np.ndarray) -> Sequence[int]:
    if len(indices) <= _PLENTY:
        return indices
    return indices[np.linspace(0, len(indices) - 1, _PLENTY).round().astype(int)]
