"""Stands in for the forecast of drift."""

from datetime import date


def by_percent(machines, risk):
    """A risk of 20 % is reached on the 20th of January 2030, and so on."""
    return {machine.pk: date(2030, 1, round(100 * risk)) for machine in machines}
