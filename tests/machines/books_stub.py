"""Stands in for the books of what was charged."""

from datetime import date
from decimal import Decimal


def charged(shop, first, last, viewer):
    """Statements in March of the year asked for, one of them in another currency."""
    assert (first.month, last.month) == (1, 12)
    march = date(first.year, 3, 20)
    return [(march, Decimal("75.25"), "EUR"), (march, Decimal("10"), "CHF")]
