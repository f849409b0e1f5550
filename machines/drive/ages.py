"""How old the present belts and bearings are, and what age is cheapest to replace them at."""

from datetime import timedelta

from django.utils import timezone

from machines.register.meters import meter_totals

from .lifetimes import type_of
from .lives import hours_between, start_of

# How long after an age was passed the part should be out (common practice, no source).
GRACE = timedelta(days=30)


def present_since(place):
    """(moment, record): since when what is in a place is there, and the record that says so."""
    fitting = place.fittings.in_place().first()
    if fitting is not None:
        return fitting.fitted_at, fitting
    if place.fitted_on is None:
        return None, place
    return start_of(place.fitted_on, place.machine.shop), place


def age_of(place):
    """(hours, record): spindle hours the present belt or bearing has run, None where not known."""
    since, record = present_since(place)
    totals = meter_totals(place.machine)
    return hours_between(totals, since, timezone.now()), record


def day_after(place, limit_h):
    """The day by which a part that passed `limit_h` should be out; None when that has passed."""
    since, _record = present_since(place)
    totals = meter_totals(place.machine)
    reached = totals.reached(totals.at(since) + limit_h)
    if reached is None:
        return None
    day = (reached + GRACE).astimezone(place.machine.shop.zone).date()
    return day if day > place.machine.shop.today else None


def best_belt_age_h(belt, thresholds, fleet):
    """(hours, why): the age at which a belt is replaced; (None, "") where none is known.

    The shop's own limit, else the cheapest age by the lives of its belts of that type (`fleet`,
    `TypeLives` by type), once they show that replacing saves.
    """
    if thresholds.belt_age_h is not None:
        return thresholds.belt_age_h, f"this shop replaces belts at {thresholds.belt_age_h:,} h"
    lives = fleet.get(type_of(belt))
    age = lives and lives.known().replacement_age(
        thresholds.planned_cost, thresholds.breakdown_cost
    )
    if age is None or age.age_h is None:
        return None, ""
    return age.age_h, f"a {lives.type} is best out at {age.age_h:,.0f} h ({age.fit.basis})"
