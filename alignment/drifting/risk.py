"""Which machine is most likely out today, and when plans by the risk of drift fall due."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from enum import IntEnum

from machines.models import Machine

from .estimates import drifts
from .items import ItemDrift
from .words import chance_words


class State(IntEnum):
    """How a machine stands, the most pressing first."""

    KNOCKED = 0  # or moved and not measured: no forecast covers it
    FORECAST = 1
    UNKNOWN = 2


@dataclass(frozen=True)
class MachineRisk:
    """A machine and the chance that any of its items is out today.

    Items are taken as independent, which makes the chance somewhat large where one datum moves
    several. ``driver`` is the item behind most of it, None where none has a forecast; ``unknown``
    counts the items without one.
    """

    machine: Machine
    state: State
    chance: float | None
    driver: ItemDrift | None
    next_check: date | None
    last_measured: date | None
    items: int
    unknown: int

    @property
    def order(self):
        day = self.next_check or date.max
        return self.state, -(self.chance or 0.0), day, self.machine.shop.name, self.machine.number

    @property
    def why(self):
        """Why it stands where it stands, in a phrase."""
        if self.driver is None:
            return "no item has a forecast"
        if self.state == State.KNOCKED:
            knocked = self.driver.disturbed
            return (
                "knocked since it was measured" if knocked else "moved and not measured afterwards"
            )
        return f"{chance_words(self.chance)} chance that it is out"

    @property
    def is_pressing(self):
        """Whether it is to be checked now."""
        return self.next_check is not None and self.next_check <= self.driver.today


def ranked(machines, lenders):
    """The `MachineRisk`s of machines (a queryset), the most pressing first; a fixed number of
    queries. lenders: the machines that may be borrowed from."""
    machines = list(machines)
    found = drifts(machines, lenders=lenders)
    return sorted((_risk_of(one, found[one.pk]) for one in machines), key=lambda risk: risk.order)


def _risk_of(machine, items):
    known = [one for one in items if one.chance is not None]
    loose = [one for one in items if one.series.last and _is_loose(one)]
    driver = max(loose, key=_weight, default=None) or max(known, key=_weight, default=None)
    state = State.KNOCKED if loose else State.FORECAST if known else State.UNKNOWN
    checks = [one.next_check for one in items if one.next_check is not None]
    days = [one.series.last.day for one in items if one.series.last]
    return MachineRisk(
        machine=machine,
        state=state,
        chance=1 - math.prod(1 - one.chance for one in known) if known else None,
        driver=driver,
        next_check=min(checks, default=None),
        last_measured=max(days, default=None),
        items=len(items),
        unknown=len(items) - len(known),
    )


def _is_loose(item):
    """Knocked, or moved and not measured, since it was last known where it stands."""
    return item.disturbed or not item.position_known


def _weight(item):
    return item.chance or 0.0


def risk_dates(machines, risk):
    """Machine pk to the day the chance that an item is out reaches ``risk``, or None; for
    `RISK_DATES`.

    A knock since the last measurement, or a move that was not measured, counts from its day. Each
    machine borrows within its shop alone, so that a plan is due on one day whoever looks.
    """
    found = drifts(machines, asked_risk=risk)
    return {
        machine.pk: min(filter(None, map(_day, found[machine.pk])), default=None)
        for machine in machines
    }


def _day(item):
    series = item.series
    if series.last is None:
        return None
    if item.disturbed:
        return series.since[0].happened_at.astimezone(series.machine.shop.zone).date()
    return item.asked_day if item.position_known else series.last.day
