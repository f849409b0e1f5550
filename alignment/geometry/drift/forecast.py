"""When does it drift out? Chance of being outside tolerance over time, and the day to check by.

Time counts from the measurement the forecast starts from, normally the last as left, in the unit
of the rate. Where the axis is at a later time is uncertain for four reasons, all of them in: the
starting measurement, the rate, how far it wanders, and how little is known of that wandering.

The tolerance is the one in force now. The interval of the date says where the date would lie if
rate and walk were known: it holds the true date in 95 % of cases, as the simulations among the
tests show.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special

from .first_passage import first_crossing
from .posterior import Belief
from .prediction import Course, Start, checked
from .tolerance import Circle, Limits

RISK = 0.05
LEVEL = 0.95
_BATCH = 8192


@dataclass(frozen=True)
class Outlook:
    """The forecast of S series; times from the start of each, NaN where nothing is known.

    ``chance_now`` (S,) of being outside; ``date`` when that chance passes the risk, ``earliest``
    and ``latest`` the ends of its 95 % interval (infinite: not within the horizon); ``next_check``
    the time to check by, never before now. ``disturbed`` (S,): an incident was logged since.
    """

    chance_now: np.ndarray
    date: np.ndarray
    earliest: np.ndarray
    latest: np.ndarray
    next_check: np.ndarray
    now: np.ndarray
    disturbed: np.ndarray
    risk: float
    horizon: float

    def note(self, series: int) -> str:
        """What to make of one series, in a plain sentence."""
        chance, date = self.chance_now[series], self.date[series]
        if self.disturbed[series]:
            return (
                "An incident was logged since it was last measured, and no forecast covers a "
                "knock: check now."
            )
        if np.isnan(chance):
            return "Not enough visits for a forecast, and nothing to borrow from: measure again."
        if date <= self.now[series]:
            return f"The chance of being outside is past {_percent(self.risk)} already: check now."
        if np.isinf(date):
            return (
                f"The chance of being outside stays under {_percent(self.risk)} as far as this "
                "forecast looks."
            )
        return ""


def forecast(
    belief: Belief,
    start: Start,
    tolerance: Circle | Limits,
    *,
    horizon: float,
    now=0.0,
    longest=np.inf,
    risk: float = RISK,
    disturbed=False,
) -> Outlook:
    """Forecast every series.

    ``horizon``: how far to look; ``now`` (a number or (S,)): time gone since the start;
    ``longest``: check at least that often, whatever the forecast; ``risk``: the chance of being
    outside that is not to be passed; ``disturbed`` (a bool or (S,)): an incident was logged since
    the start. Raises ValueError for shapes that do not fit, a variance or a time gone that is
    negative or no number, a horizon that is not positive, or a risk not between 0 and 0.5.
    """
    if not (0 < horizon < np.inf and 0 < risk < 0.5):
        raise ValueError("Expected a horizon longer than 0 and a risk between 0 and 0.5.")
    position, cov = checked(belief, start, tolerance)
    series = len(position)
    now = np.broadcast_to(np.asarray(now, float), series)
    if not np.all(now >= 0):
        raise ValueError("The time gone since the start must be a number, and not negative.")
    disturbed = np.broadcast_to(np.asarray(disturbed, bool), series)
    answer = np.full((4, series), np.nan)
    for some, course, told in _courses(belief, start, position, cov, tolerance):
        answer[0, some] = told.chance_outside(now[some])
        answer[1:, some] = _dates(course, horizon, risk)
    chance, date, earliest, latest = answer
    # The date counts what is not known as risk, so it may come a little before the interval.
    earliest, latest = np.fmin(earliest, date), np.fmax(latest, date)
    longest = np.broadcast_to(np.asarray(longest, float), series)
    due = np.where(np.isinf(longest), date, np.fmin(date, longest))
    next_check = np.where(disturbed, now, np.maximum(due, now))
    return Outlook(chance, date, earliest, latest, next_check, now, disturbed, risk, float(horizon))


def chance_outside(belief: Belief, start: Start, tolerance: Circle | Limits, time) -> np.ndarray:
    """Chance of being outside at each ``time`` (T,) after the start: (S, T), NaN if not known."""
    position, cov = checked(belief, start, tolerance)
    time = np.atleast_1d(np.asarray(time, float))
    chance = np.full((len(position), len(time)), np.nan)
    for some, _, told in _courses(belief, start, position, cov, tolerance):
        for column, at in enumerate(time):
            chance[some, column] = told.chance_outside(np.full(len(some), at))
    return chance


def time_of_risk(
    belief: Belief, start: Start, tolerance: Circle | Limits, *, horizon: float, risk: float
) -> np.ndarray:
    """When the chance of being outside passes ``risk`` (S,), without an interval.

    0 where it is past from the start, infinite where it is not passed by ``horizon``, NaN where
    nothing is known. Raises ValueError for shapes that do not fit, a horizon that is not
    positive, or a risk not between 0 and 1.
    """
    if not (0 < horizon < np.inf and 0 < risk < 1):
        raise ValueError("Expected a horizon longer than 0 and a risk between 0 and 1.")
    position, cov = checked(belief, start, tolerance)
    answer = np.full(len(position), np.nan)
    for some, course, _ in _courses(belief, start, position, cov, tolerance):
        answer[some] = _date(course, horizon, risk)
    return answer


def _courses(belief, start, position, cov, tolerance):
    """(which series, their course for dates, that for a chance to tell) of those that are known, in
    batches; such as start from few degrees of freedom take more cases, so they go by themselves.

    Their dates stay with Student's t: out on its day are then 5 of 100, and not of those told so.
    """
    known = belief.known & np.isfinite(position).all(axis=1)
    few = start.rests_on_few
    for kind in (few, ~few):
        of_kind = np.flatnonzero(known & kind)
        for first in range(0, len(of_kind), _BATCH):
            some = of_kind[first : first + _BATCH]
            own = belief.take(some), start.take(some), position[some], cov[some]
            held = tolerance.take(some)
            dates = _course(*own, held)
            yield some, dates, _course(*own, held, told=True) if kind is few else dates


def _course(belief, start, position, cov, tolerance, *, told=False):
    cases, spread = start.cases(belief, cov, told=told)
    return Course(cases, position, spread, tolerance)


def _date(course, horizon, risk):
    """When the chance passes the risk (S,), of one batch."""
    edge = -special.ndtri(risk)

    def outside(which, time):
        return course.pick(which).chance_outside(time)

    return _crossing(outside, risk, course.guess(edge, edge), horizon)


def _dates(course, horizon, risk):
    """Date, earliest and latest (3, S) of one batch."""
    edge = -special.ndtri(risk)
    sure = -special.ndtri((1 - LEVEL) / 2)

    def too_risky(which, time):
        return course.pick(which).confidence_too_risky(time, risk)

    return [
        _date(course, horizon, risk),
        _crossing(too_risky, special.ndtr(-sure), course.guess(sure, edge), horizon),
        _crossing(too_risky, special.ndtr(sure), course.guess(-sure, edge), horizon),
    ]


def _crossing(chance, level, guess, horizon):
    time, steepness = guess
    return first_crossing(chance, level, time, horizon, steepness)


def _percent(risk):
    return f"{100 * risk:g} %"
