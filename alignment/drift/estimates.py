"""From the series on record to what is known of their drift: rates, steps, forecasts, changes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from django.utils import timezone

from alignment.geometry.drift.change import Change, explain_change, has_grown, last_usable
from alignment.geometry.drift.fit import rate_interval
from alignment.geometry.drift.forecast import Outlook, forecast, time_of_risk
from alignment.geometry.drift.intervals import intervals_from_visits
from alignment.geometry.drift.pooling import lend
from machines.drive.models import Thresholds
from machines.register.models import Machine

from .clock import Per, last_day
from .items import ItemDrift, Move, Rate
from .lenders import lenders_of
from .records import Series, load
from .shaping import shaped, start_of, tolerance_of, visits_of


def drift_of(machine, user=None, until=None):
    """The `ItemDrift`s of one machine in checking order, changes included; ten queries or so.

    user: whose other machines may lend; left out, only those of the same shop do. until: a
    moment; what was entered later is not looked at.
    """
    lenders = Machine.objects.visible_to(user) if user else None
    return drifts([machine], lenders=lenders, until=until, changes=True)[machine.pk]


def drift_of_item(item, user=None):
    """The `ItemDrift` of one item, changes included; None where its sheet is not in force."""
    machine = item.station.machine
    lenders = Machine.objects.visible_to(user) if user else None
    found = drifts([machine], lenders=lenders, changes=True, only=item)[machine.pk]
    return found[0] if found else None


def drifts(machines, *, lenders=None, until=None, changes=False, asked_risk=None, only=None):
    """Machine pk to its `ItemDrift`s in checking order; a fixed number of queries.

    lenders: a queryset of machines from which to borrow where they are of the same model; left
    out, each machine borrows within its shop alone. changes: whether to hold the last move
    against wear, which a list of many machines does without. asked_risk: a chance of being
    outside, from 0 to 1, whose day is wanted besides that of the risk each shop has chosen.
    only: the one item wanted, where not all are.
    """
    until = until or timezone.now()
    machines = list(machines)
    lent = lenders_of(machines, lenders, until)
    own = {machine.pk for machine in machines}
    series = load(own.union(*lent.values()), until=until, only=only)
    wanted = [
        one for one in series if one.machine.pk in own and (only is None or one.item.pk == only.pk)
    ]
    risks = _risks(machines)
    found = {
        one.item.pk: one
        for batch in _batches(series, wanted)
        for one in _Batch(batch, lent, risks, until, changes, asked_risk).items()
    }
    of_machine = {machine.pk: [] for machine in machines}
    for one in wanted:
        of_machine[one.machine.pk].append(found[one.item.pk])
    return of_machine


def _risks(machines):
    """Shop pk to the risk it has chosen; one query."""
    shops = {machine.shop_id for machine in machines}
    return {pk: one.drift_risk for pk, one in Thresholds.of_shops(shops).items()}


@dataclass(frozen=True)
class _Alike:
    """Series that can be worked out in one call, ``own`` being those that are asked for: they
    count time and figures alike."""

    per: Per
    parts: int
    own: list[Series]
    series: list[Series]


def _batches(series, wanted):
    """The wanted series with those they borrow from, by what time counts in and by figure.

    A machine that counts in years borrows from its like in years, those with a meter included.
    """
    for parts in (1, 2):
        for per in Per:
            own = [one for one in wanted if one.parts == parts and one.clock.per == per]
            if own:
                like = {one.like for one in own}
                known = [one for one in series if one.like in like and _counts_in(one, per)]
                yield _Alike(per, parts, own, known)


def _counts_in(series, per):
    return per == Per.YEAR or series.clock.per == Per.HOURS


def _groups(alike, lent):
    """(place among the series, number of the group, whether it lends, whether it is asked for) for
    every member of the groups: those of a shop that are alike, and their lenders."""
    place = {(one.machine.pk, one.like): n for n, one in enumerate(alike.series)}
    groups = defaultdict(list)
    for one in alike.own:
        groups[one.machine.shop_id, one.like].append(place[one.machine.pk, one.like])
    for number, ((shop, like), own) in enumerate(groups.items()):
        able = lent.get((shop, like.model), ())
        lends = {place[pk, like] for pk in able if (pk, like) in place}
        for member in sorted(lends.union(own)):
            yield member, number, member in lends, member in own


class _Batch:
    """Works out one batch; `items` gives the drift of the wanted series in it."""

    def __init__(self, alike, lent, risks, until, changes, asked_risk):
        self.per, self.risks, self.until, self.asked_risk = alike.per, risks, until, asked_risk
        members = list(_groups(alike, lent))
        place, group, lends, asked = (np.array(column) for column in zip(*members, strict=True))
        own = np.flatnonzero(asked)
        self.series = [alike.series[n] for n in place[own]]
        every = intervals_from_visits([visits_of(one, self.per) for one in alike.series])
        every = shaped(every, alike.parts).take(place)
        self.intervals = every.take(own)
        self.last = last_usable(self.intervals)
        borrowing = lend(every, group, lends, own)
        self.borrowed = borrowing.to(self.intervals)
        self.low, self.high = rate_interval(self.borrowed.belief)
        self.change, self.grown = None, np.zeros(len(own), bool)
        if changes:
            before = borrowing.belief_of(self.intervals.select(~self.last))
            self.change = explain_change(self.intervals, belief=before)
            self.grown = has_grown(self.intervals)

    def items(self):
        """An `ItemDrift` for each series of the wanted machines."""
        by_risk = defaultdict(list)
        for place, one in enumerate(self.series):
            by_risk[self.risks[one.machine.shop_id]].append(place)
        for risk, places in by_risk.items():
            yield from self._with_outlook(np.array(places), risk)

    def _with_outlook(self, places, risk):
        belief = self.borrowed.belief.take(places)
        series = [self.series[place] for place in places]
        start = start_of(series)
        tolerance = tolerance_of(series)
        begun = np.array([self._begun(one) for one in series])
        now = np.array([one.clock.time(_today(one, self.until), self.per) for one in series])
        horizon = max(one.clock.horizon(self.per) for one in series)
        asked = np.full(len(series), np.nan)
        if self.asked_risk:
            asked = time_of_risk(belief, start, tolerance, horizon=horizon, risk=self.asked_risk)
        seen = forecast(
            belief,
            start,
            tolerance,
            horizon=horizon,
            now=np.maximum(now - begun, 0.0),
            risk=risk,
            disturbed=[bool(one.since) for one in series],
        )
        for row, place in enumerate(places):
            yield self._item(place, row, seen, begun[row], start, asked[row])

    def _begun(self, series):
        return series.clock.time(series.last.day, self.per) if series.visits else 0.0

    def _item(self, place, row, seen, begun, start, asked):
        series, today = self.series[place], _today(self.series[place], self.until)

        def day(time):
            return series.clock.day(begun + time, self.per, last_day(today))

        known = np.isfinite(seen.chance_now[row])
        return ItemDrift(
            series=series,
            today=today,
            risk=seen.risk,
            moves=tuple(self._moves(place)),
            rate=self._rate(place),
            chance=float(seen.chance_now[row]) if known else None,
            risk_day=day(seen.date[row]),
            earliest=day(seen.earliest[row]),
            latest=day(seen.latest[row]),
            next_check=_next_check(series, seen, row, day, today),
            note=self.borrowed.note(place),
            belief=self.borrowed.belief.take([place]),
            start=start.take([row]),
            change=_picked(self.change, place),
            change_since=self._since(place),
            grown=bool(self.grown[place]),
            asked_day=day(asked),
        )

    def _rate(self, place):
        um = self.borrowed.rate_um[place]
        if not np.isfinite(um).all():
            return None
        ends = self.low[place], self.high[place]
        return Rate(
            tuple(map(float, um)),
            *(_told(end) for end in ends),
            self.per,
            float(self.borrowed.share[place]),
            int(self.borrowed.others[place]),
        )

    def _moves(self, place):
        visits, fit = self.series[place].visits, self.borrowed.fit
        for number, (before, after) in enumerate(pairwise(visits)):
            yield Move(
                before,
                after,
                float(self.intervals.elapsed[place, number]),
                _told(self.intervals.change_um[place, number]),
                *(
                    _told(step[place, number])
                    for step in (fit.step_um, fit.step_low_um, fit.step_high_um)
                ),
            )

    def _since(self, place):
        """The day from which the last usable move counts."""
        last = np.flatnonzero(self.last[place])
        return self.series[place].visits[last[0]].day if last.size else None


def _told(values):
    """Numbers as a tuple, None where they are not known."""
    return tuple(map(float, values)) if np.isfinite(values).all() else None


def _picked(change, place):
    """The change of one series alone, None where it was not asked for."""
    if change is None:
        return None
    return Change(*(getattr(change, name)[[place]] for name in change.__dataclass_fields__))


def _today(series, until):
    return until.astimezone(series.machine.shop.zone).date()


def _next_check(series, seen: Outlook, row, day, today):
    """The day to check by: today where it was knocked or left unmeasured, never before today."""
    if series.visits and not series.state.counts:
        return today
    found = day(seen.next_check[row])
    return None if found is None else max(found, today)
