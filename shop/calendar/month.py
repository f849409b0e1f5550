"""A month as weeks of days with what stands on them."""

import calendar
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

# What falls due is worked out one time after the other, so nobody looks a century ahead.
YEARS_TO_LOOK_AT = 10


@dataclass(frozen=True)
class Day:
    """One day of the sheet; `outside` marks the days of the months before and after."""

    day: date
    entries: tuple
    outside: bool
    today: bool


@dataclass(frozen=True)
class Month:
    """A month to look at; its weeks start on a Monday (1) or another day."""

    first: date
    week_starts_on: int = 1

    @classmethod
    def named(cls, text, today, week_starts_on=1):
        """The month '2026-03' names; the present one for anything else, or too far off."""
        try:
            year, month = map(int, (text or "").split("-"))
            near = abs(year - today.year) <= YEARS_TO_LOOK_AT
            return cls((date(year, month, 1) if near else today).replace(day=1), week_starts_on)
        except ValueError:
            return cls(today.replace(day=1), week_starts_on)

    @property
    def last(self):
        return self.first + relativedelta(months=1, days=-1)

    @property
    def weeks(self):
        """Lists of seven dates that cover the month, from the day on which weeks start."""
        sheet = calendar.Calendar(firstweekday=self.week_starts_on - 1)
        return sheet.monthdatescalendar(self.first.year, self.first.month)

    @property
    def before(self):
        return f"{self.first - relativedelta(months=1):%Y-%m}"

    @property
    def after(self):
        return f"{self.first + relativedelta(months=1):%Y-%m}"

    def sheet(self, entries, today):
        """The weeks as `Day`s with their entries."""
        on = by_day(entries, self.weeks[0][0], self.weeks[-1][-1])
        return [
            [Day(day, tuple(on[day]), day.month != self.first.month, day == today) for day in week]
            for week in self.weeks
        ]


def by_day(entries, first, last):
    """Day to the entries on it, for every day between two that has some."""
    found = defaultdict(list)
    for entry in entries:
        day = max(entry.first, first)
        while day <= min(entry.last, last):
            found[day].append(entry)
            day += timedelta(days=1)
    return found
