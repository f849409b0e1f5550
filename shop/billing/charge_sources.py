"""What the ground app knows a visit is to be charged with: hours and travel.

A charge source is a function of a visit that yields `Filled` lines; `MONEY_SOURCES` in settings
lists them in the order of the statement.
"""

from dataclasses import dataclass
from decimal import Decimal

from shop.visits.worktime import work_time

from .models import Charge, Rate, TaxCategory


@dataclass(frozen=True)
class Filled:
    """A line a visit can fill in by itself. `source` tells it from every other line of the visit;
    `price` is None where the firm has none on record, `tax` where its usual category applies."""

    source: str
    kind: str
    text: str
    quantity: Decimal
    unit: str
    price: Decimal | None = None
    tax: TaxCategory | None = None
    number: str = ""


def hours(visit):
    """Hours of work by rate, then travel by time and by distance; two queries."""
    rates = {rate.kind: rate for rate in visit.firm.rates.select_related("tax")}
    time = work_time(visit)
    for kind, quantity in (
        (Rate.Kind.NORMAL, time.work.normal),
        (Rate.Kind.OVERTIME, time.work.overtime),
        (Rate.Kind.WEEKEND, time.work.weekend),
    ):
        if quantity:
            yield _by_rate(kind, quantity, rates.get(kind), Charge.Kind.LABOUR)
    travelled = [(Rate.Kind.TRAVEL_TIME, time.travel_h), (Rate.Kind.TRAVEL_DISTANCE, time.distance)]
    for kind, quantity in travelled:
        # A firm asks for travel by the hour, by distance, or by both: whatever it has a rate for.
        if quantity and kind in rates:
            yield _by_rate(kind, quantity, rates[kind], Charge.Kind.TRAVEL)


def _by_rate(kind, quantity, rate, charge_kind):
    if rate is None:
        label = Rate.Kind(kind).label.capitalize()
        return Filled(f"rate {kind}", charge_kind, label, quantity, Rate.Unit.HOUR)
    return Filled(f"rate {kind}", charge_kind, rate.name, quantity, rate.unit, rate.price, rate.tax)
