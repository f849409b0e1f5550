"""How time counts for a machine's drift: in 1,000 spindle hours where its meter tells them, else
in years."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from enum import StrEnum

import numpy as np

from machines.engineering.meters import Totals, accumulate, days_utc, moment_utc, usage_rate
from machines.register.meters import counted
from machines.register.models import MeterReading

DAYS_PER_YEAR = 365.25
# Meter readings have to reach to within a quarter of a year of the first and the last check;
# further off, nobody knows what the spindle did.
FURTHEST_READING = timedelta(days=92)
NEAR_READING = timedelta(days=14)
# A forecast looks no further than this: seats, bearings and work do not stay the same for longer
# (common practice, no source).
HORIZON_YEARS = 5
NOON = time(12)


class Per(StrEnum):
    """What a rate is stated for."""

    HOURS = "1,000 h"
    YEAR = "year"


@dataclass(frozen=True)
class Meter:
    """Spindle hours of a machine by the day, going on at the recent pace outside its readings."""

    totals: Totals
    per_day: float
    by_day: dict[date, float]
    zone: tzinfo

    def on(self, day: date) -> float:
        """Total on a day: what was read that day, else by the straight line at noon."""
        if day in self.by_day:
            return self.by_day[day]
        at = days_utc(datetime.combine(day, NOON, tzinfo=self.zone))
        before = min(at - self.totals.days[0], 0.0)
        after = max(at - self.totals.days[-1], 0.0)
        inside = float(np.interp(at, self.totals.days, self.totals.totals))
        return inside + self.per_day * (before + after)

    def day_of(self, total: float) -> date | None:
        """The day a total is reached; None where the spindle stands still."""
        reached = self.totals.reached(total)
        if reached is None:
            if not self.per_day:
                return None
            left = (total - float(self.totals.totals[-1])) / self.per_day
            reached = moment_utc(float(self.totals.days[-1]) + left)
        return reached.astimezone(self.zone).date()

    def covers(self, first: date, last: date) -> bool:
        """Whether the readings reach near enough to both days."""
        days = sorted(self.by_day)
        return days[0] - first <= FURTHEST_READING and last - days[-1] <= FURTHEST_READING


@dataclass(frozen=True)
class Clock:
    """The time of one machine; ``meter`` is None where it counts in years."""

    meter: Meter | None = None

    @property
    def per(self) -> Per:
        return Per.YEAR if self.meter is None else Per.HOURS

    def time(self, day: date, per: Per) -> float:
        """A day as a time in 1,000 h or in years."""
        if per == Per.HOURS:
            return self.meter.on(day) / 1000
        return day.toordinal() / DAYS_PER_YEAR

    def day(self, at: float, per: Per, last: date) -> date | None:
        """The day of a time; None where it is not reached by ``last``."""
        if not np.isfinite(at):
            return None
        if per == Per.HOURS:
            found = self.meter.day_of(1000 * at)
        else:
            found = date.fromordinal(min(round(at * DAYS_PER_YEAR), date.max.toordinal()))
        return None if found is None or found > last else found

    def unread(self, days) -> int:
        """On how many of ``days`` hours are reckoned, with no reading within `NEAR_READING`."""
        if self.meter is None:
            return 0
        read = list(self.meter.by_day)
        return sum(min(abs(day - one) for one in read) > NEAR_READING for day in days)

    def horizon(self, per: Per) -> float:
        """How far a forecast looks, as a span of time."""
        if per == Per.YEAR:
            return HORIZON_YEARS
        return max(self.meter.per_day * DAYS_PER_YEAR * HORIZON_YEARS / 1000, 0.1)

    @property
    def hours_a_week(self) -> float | None:
        return None if self.meter is None else 7 * self.meter.per_day


def last_day(today: date) -> date:
    """The last day a forecast looks at."""
    return today + timedelta(days=round(HORIZON_YEARS * DAYS_PER_YEAR))


def clock_of(readings: list[MeterReading], days: list[date], zone: tzinfo) -> Clock:
    """The clock of a machine measured on ``days``, from its readings of spindle hours."""
    if len(readings) < 2:
        return Clock()
    totals = accumulate(map(counted, readings))
    rate = usage_rate(totals)
    if rate is None:
        return Clock()
    by_day = {
        moment_utc(float(at)).astimezone(zone).date(): float(total)
        for at, total in zip(totals.days, totals.totals, strict=True)
    }
    meter = Meter(totals, max(rate.per_day, 0.0), by_day, zone)
    return Clock(meter if not days or meter.covers(min(days), max(days)) else None)
