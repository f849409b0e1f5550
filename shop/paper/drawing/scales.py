"""Round numbers for scales and dates for axes."""

from datetime import date
from math import floor, log10

from dateutil.relativedelta import relativedelta

# Months between ticks, from fine to coarse; beyond the last, whole numbers of years.
MONTH_STEPS = (1, 3, 6, 12, 24, 60, 120, 240, 600)


def nice_step(span, at_most):
    """The smallest of 1, 2, 5 times a power of ten that divides ``span`` into ``at_most`` parts.

    ``span`` must be more than zero; ValueError otherwise.
    """
    if not span > 0:
        raise ValueError(f"A scale needs a span of more than zero, not {span}.")
    raw = span / at_most
    power = 10.0 ** floor(log10(raw))
    return next(power * m for m in (1, 2, 5, 10, 20) if power * m >= raw * (1 - 1e-9))


def ticks(low, high, at_most=6):
    """Round values from ``low`` to ``high``, both included where they are round themselves."""
    step = nice_step(high - low, at_most)
    first = -floor(-low / step + 1e-9)
    last = floor(high / step + 1e-9)
    return [step * n for n in range(first, last + 1)]


def _month_start(day):
    return day.replace(day=1)


def date_ticks(first: date, last: date, at_most=6):
    """First days of months between two dates, evenly spaced in months, no more than ``at_most``.

    A span too short to hold the first of a month gives its two ends.
    """
    for months in MONTH_STEPS:
        found = _multiples(first, last, months)
        if len(found) <= at_most:
            break
    return found or sorted({first, last})


def _multiples(first, last, months):
    """First days of every ``months``-th month, counted so that January is always among them."""
    tick = _month_start(first)
    tick -= relativedelta(months=(tick.month - 1 + 12 * tick.year) % months)
    found = []
    while tick <= last:
        if tick >= first:
            found.append(tick)
        tick += relativedelta(months=months)
    return found


def date_label(day: date, months_between):
    """'2025' for a tick on the year where ticks are years apart, else 'Mar 2025'."""
    return f"{day.year}" if months_between >= 12 else f"{day:%b} {day.year}"
