"""The pictures of a drift: the figure over time with its forecast, and the way of the axis."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from alignment.figures import (
    AxisPosition,
    Fan,
    IncidentMark,
    SeriesFigure,
    Tolerance,
    TrackFigure,
    TrackVisit,
)
from alignment.geometry.drift.prediction_bands import distance_fan, fan
from alignment.sheets.formatting import per_words
from alignment.sweeps.pictures import ROUND_UM, figures_in, lengths_in, visit_value

from .records import VECTORS

LEVELS = (0.0, 0.5, 0.95)  # of no width: the middle
DAYS_SHOWN = 9
# How far ahead the picture looks at least and at most, and how far past the day of risk.
LEAST_AHEAD, MOST_AHEAD = timedelta(days=180), timedelta(days=730)
PAST_RISK = timedelta(days=60)


@dataclass(frozen=True)
class Ahead:
    """The forecast on a day, in µm: the middle and the ends of 50 % and 95 %."""

    day: date
    middle_um: float
    low50_um: float
    high50_um: float
    low95_um: float
    high95_um: float


def ahead(drift):
    """The forecast as `Ahead`s from the last visit on; empty where there is none to show.

    After a knock, or where it was moved and not measured, nothing can be foretold.
    """
    if drift.chance is None or not drift.position_known:
        return []
    series = drift.series
    days = _days(drift)
    per = series.clock.per
    begun = series.clock.time(series.last.day, per)
    times = np.array([series.clock.time(day, per) - begun for day in days])
    low, high = _bands(drift, times)
    return [
        Ahead(day, low[i, 0], low[i, 1], high[i, 1], low[i, 2], high[i, 2])
        for i, day in enumerate(days)
    ]


def _bands(drift, times):
    """Low and high ends (T, levels) of what the item's figure may be."""
    if drift.series.parts == 2:
        low, high = distance_fan(drift.belief, drift.start, times, LEVELS)
        series = drift.series
        return tuple(series.counts * end[0] + series.form_um for end in (low, high))
    low, high = fan(drift.belief, drift.start, times, LEVELS)
    return low[0, :, :, 0], high[0, :, :, 0]


def _days(drift):
    first = drift.series.last.day
    last = max(drift.today + LEAST_AHEAD, (drift.risk_day or first) + PAST_RISK)
    span = min(last, drift.today + MOST_AHEAD) - first
    return [first + span * step / (DAYS_SHOWN - 1) for step in range(DAYS_SHOWN)]


def series_figure(drift, unit):
    """The figure over the visits, with limits, knocks, as left and the forecast."""
    item, series = drift.item, drift.series
    zone = series.machine.shop.zone
    knocks = [one for visit in series.visits for one in visit.knocks] + list(series.since)
    return SeriesFigure(
        item=f"{item}, {per_words(item.per_mm, unit)}" if item.is_tilt else str(item),
        format_length=figures_in(unit, item),
        visits=tuple(visit_value(one.day, one.found, one.left) for one in series.visits),
        tolerances=tuple(_tolerances(drift)),
        factory_um=None if item.factory_um is None else float(item.factory_um),
        incidents=tuple(
            IncidentMark(one.happened_at.astimezone(zone).date(), str(one)) for one in knocks
        ),
        forecast=_fan(ahead(drift)),
        round_um=ROUND_UM[unit],
    )


def _tolerances(drift):
    """The limits the checks were held to, each from its first visit on, then those in force."""
    said = None
    for visit in drift.series.visits:
        for one in (visit.found, visit.left):
            if one is not None and one.limits != said and any(um is not None for um in one.limits):
                yield Tolerance(
                    lower_um=one.lower_um,
                    upper_um=one.upper_um,
                    since=None if said is None else visit.day,
                )
                said = one.limits
    item = drift.item
    now = tuple(None if um is None else float(um) for um in (item.lower_um, item.upper_um))
    if now != said:
        since = None if said is None else drift.today
        yield Tolerance(lower_um=now[0], upper_um=now[1], since=since)


def _fan(days):
    if not days:
        return None
    return Fan(*([getattr(day, name) for day in days] for name in Ahead.__dataclass_fields__))


def track_figure(drift, unit):
    """The way of the station over the visits inside its tolerance circle; None for a figure
    without a direction."""
    item = drift.item
    if item.quantity not in VECTORS:
        return None
    return TrackFigure(
        station=f"{item}, {per_words(item.per_mm, unit)}" if item.is_tilt else str(item),
        format_length=lengths_in(unit),
        visits=tuple(
            TrackVisit(visit.day, _position(visit.found), _position(visit.left))
            for visit in drift.series.visits
        ),
        tolerance_um=float(item.upper_um) / drift.series.counts,
        front_at=item.view.front_at,
        round_um=ROUND_UM[unit],
    )


def _position(check):
    return None if check is None else AxisPosition(*check.vector_um)
