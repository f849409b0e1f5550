"""A shop's year as bars, month by month: money, work, hours stopped."""

from dataclasses import dataclass
from datetime import timedelta

from shop.web.amounts import money_text

HOUR = timedelta(hours=1)
FULL = 100


@dataclass(frozen=True)
class Bar:
    """A month's bar: its length in per cent of the longest, and what it says."""

    label: str
    share: float
    text: str


@dataclass(frozen=True)
class Bars:
    """Twelve bars under a heading, and what they come to together."""

    title: str
    bars: tuple[Bar, ...]
    total: str


def bars_of(year):
    """The `Bars` of a `Year`: what was spent, what was planned, done work and hours stopped."""

    def cash(amount):
        return money_text(amount, year.currency)

    totals = year.totals
    return [
        _bars("Spent", year, "spent", cash, totals["spent"]),
        _bars("Cost planned", year, "planned_cost", cash, totals["planned_cost"]),
        _bars("Work done", year, "done", str, totals["done"]),
        _bars("Hours stopped", year, "stopped", _hours, year.stopped),
    ]


def _hours(span):
    return f"{span / HOUR:,.1f} h"


def _bars(title, year, name, tell, total):
    values = [getattr(month, name) for month in year.months]
    longest = max(values)
    bars = tuple(
        Bar(f"{month.first:%b}", float(FULL * value / longest) if longest else 0.0, tell(value))
        for month, value in zip(year.months, values, strict=True)
    )
    return Bars(title, bars, tell(total))
