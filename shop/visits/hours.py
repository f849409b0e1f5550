"""Hours of work by rate: normal, overtime, weekend. Free of Django.

Common practice, no source: hours on a Saturday or Sunday are weekend hours; on other days what a
person works beyond the day's normal hours is overtime. Firms differ in how long that day is.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

SATURDAY = 5
MICROSECONDS_OF_AN_HOUR = Decimal(3_600_000_000)


@dataclass(frozen=True)
class Spell:
    """One person's stretch of work: who (any key), from when, until when (both with a zone)."""

    who: object
    began_at: datetime
    ended_at: datetime


@dataclass(frozen=True)
class Hours:
    """Hours by rate, to the hundredth of an hour."""

    normal: Decimal
    overtime: Decimal
    weekend: Decimal


def split_hours(spells: Iterable[Spell], zone: ZoneInfo, *, day_h: Decimal = Decimal(8)) -> Hours:
    """Hours of work by rate, each person's day counted in `zone`.

    day_h: how many hours of one person's day are normal ones. No spells come to no hours. Time
    that one person's spells share is counted once. Days are counted in elapsed time, so that the
    day the clocks go back has 25 hours.
    Raises ValueError for a spell that ends before it began, or a day without 0 to 24 hours.
    """
    if not 0 <= day_h <= 24:
        raise ValueError(f"A day has no {day_h} normal hours; expected 0 to 24.")
    days = {}
    for spell in _without_overlaps(spells):
        for day, length in _by_day(spell, zone):
            key = (spell.who, day)
            days[key] = days.get(key, timedelta()) + length
    normal = overtime = weekend = timedelta()
    limit = timedelta(seconds=float(day_h * 3600))
    for (_who, day), length in days.items():
        if day.weekday() >= SATURDAY:
            weekend += length
        else:
            normal += min(length, limit)
            overtime += max(length - limit, timedelta())
    return Hours(*(to_hours(length) for length in (normal, overtime, weekend)))


def to_hours(length: timedelta) -> Decimal:
    """A length of time in hours, rounded half up to hundredths."""
    hours = Decimal(length // timedelta(microseconds=1)) / MICROSECONDS_OF_AN_HOUR
    return hours.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)


def _without_overlaps(spells):
    """Each person's spells in order, what two share counted with the earlier one."""
    until = {}
    for spell in sorted(spells, key=lambda spell: spell.began_at):
        if spell.ended_at < spell.began_at:
            raise ValueError("A spell of work ends before it began.")
        began_at = max(spell.began_at, until.get(spell.who, spell.began_at))
        if began_at < spell.ended_at:
            yield Spell(spell.who, began_at, spell.ended_at)
        until[spell.who] = max(spell.ended_at, until.get(spell.who, spell.ended_at))


def _by_day(spell, zone):
    """(day in the zone, elapsed time of the spell on it), cut at local midnights."""
    began_at, ended_at = spell.began_at.astimezone(UTC), spell.ended_at.astimezone(UTC)
    while began_at < ended_at:
        day = began_at.astimezone(zone).date()
        midnight = datetime.combine(day + timedelta(days=1), time(), zone).astimezone(UTC)
        until = min(midnight, ended_at)
        yield day, until - began_at
        began_at = until
