"""The picture of one acceptance item over its visits, with tolerance, incidents and forecast."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from shop.paper.drawing import SMALL, Pen, abridged, listed, wrapped
from shop.paper.palettes import LIGHT

from .positions import Lengths
from .series_plot import PLOT_HEIGHT, SeriesPlot

WIDTH = 360
TOP = 26
DATE_ROOM = 24
LINE = 14
MOST_TOLD = 6

# A value further out than this many times what the tolerance needs is marked at the edge and said
# in words, so that one crash does not flatten years of drift.
FURTHEST = 3.0
HEADROOM = 0.12
SHORTEST_SPAN = timedelta(days=60)


@dataclass(frozen=True)
class VisitValue:
    """What one visit found and left; the uncertainties are expanded (± U)."""

    day: date
    as_found_um: float | None = None
    as_left_um: float | None = None
    as_found_u_um: float | None = None
    as_left_u_um: float | None = None

    @property
    def states(self):
        """(words, value, uncertainty, drawn filled) of what was measured, found first."""
        both = (
            ("as found", self.as_found_um, self.as_found_u_um, False),
            ("as left", self.as_left_um, self.as_left_u_um, True),
        )
        return [state for state in both if state[1] is not None]


@dataclass(frozen=True)
class Tolerance:
    """Limits in force from a day on; ``since`` None is from the beginning."""

    upper_um: float | None = None
    lower_um: float | None = None
    since: date | None = None


@dataclass(frozen=True)
class IncidentMark:
    """Something that happened to the machine."""

    day: date
    label: str = "incident"


@dataclass(frozen=True)
class Fan:
    """A forecast: for each day the middle and the limits of 50 % and 95 % of what may come."""

    days: Sequence[date]
    middle_um: Sequence[float]
    low50_um: Sequence[float]
    high50_um: Sequence[float]
    low95_um: Sequence[float]
    high95_um: Sequence[float]


def plain_date(day: date) -> str:
    """'12 Mar 2025'."""
    return f"{day.day} {day:%b %Y}"


@dataclass(frozen=True)
class SeriesFigure:
    """One acceptance item over time; visits in order of their dates.

    ``tolerances`` are in order of ``since``: limits may change when a new sheet comes into force.
    """

    item: str
    format_length: Lengths
    visits: tuple[VisitValue, ...] = ()
    tolerances: tuple[Tolerance, ...] = ()
    factory_um: float | None = None
    incidents: tuple[IncidentMark, ...] = ()
    forecast: Fan | None = None
    round_um: float = 1.0
    width: int = WIDTH
    format_date: Callable[[date], str] = plain_date

    def drawing(self, palette=LIGHT):
        notes = [line for n in self.notes for line in wrapped(n, self.width - 24, SMALL)]
        bottom = DATE_ROOM + LINE * len(notes) + LINE
        pen = Pen(self.width, TOP + PLOT_HEIGHT + bottom, palette)
        SeriesPlot(self, pen, bottom).draw()
        for row, line in enumerate(notes):
            y = LINE * (len(notes) - row) - 6
            pen.text(12, y, line, SMALL, palette.muted)
        return pen.drawing

    @cached_property
    def value_range(self):
        """(lowest, highest) value of the picture; values beyond it are marked at the edge."""
        needed = [v for t in self.tolerances for v in (t.upper_um, t.lower_um) if v is not None]
        needed += [self.factory_um] if self.factory_um is not None else []
        measured = [
            value + side * (u or 0)
            for visit in self.visits
            for _, value, u, _ in visit.states
            for side in (-1, 1)
        ]
        low, high = _span([*needed, *measured, *self._forecast_values(), 0.0])
        if needed:
            low, high = _limited(low, high, *_span([*needed, 0.0]))
        room = HEADROOM * (high - low) or self.round_um
        return (low - room if low < 0 else low), high + room

    def _forecast_values(self):
        fan = self.forecast
        return [*fan.low50_um, *fan.high50_um] if fan else []

    @cached_property
    def day_range(self):
        """(first, last) day of the picture; never shorter than two months."""
        days = [visit.day for visit in self.visits] + [mark.day for mark in self.incidents]
        days += list(self.forecast.days) if self.forecast else []
        first, last = min(days), max(days)
        spare = max(SHORTEST_SPAN - (last - first), timedelta(0)) / 2
        room = max((last - first) / 25, timedelta(days=2))
        return first - spare - room, last + spare + room

    def is_off_picture(self, value):
        low, high = self.value_range
        return not low <= value <= high

    @property
    def notes(self):
        """What the marks mean, printed under the picture."""
        notes = []
        if self.visits:
            notes.append("Open ring: as found. Filled dot: as left. Bars: ± U. Dotted: adjusted.")
        if self.factory_um is not None:
            notes.append(f"Dashed line: the factory's own figure, {self._factory_words}.")
        if self.incidents:
            told = (f"{self.format_date(mark.day)} {mark.label}" for mark in self.incidents)
            notes.append(f"Wedge: {', '.join(told)}.")
        if self.forecast:
            notes.append("Shaded: forecast, 50 % (dark) and 95 % (light) of what may come.")
        notes += self._off_picture_notes()
        return notes

    @property
    def _factory_words(self):
        return self.format_length(self.factory_um)

    def _off_picture_notes(self):
        return [
            f"Off the picture on {self.format_date(visit.day)}: {words} "
            f"{self.format_length(value)}."
            for visit in self.visits
            for words, value, _, _ in visit.states
            if self.is_off_picture(value)
        ]

    def describe(self):
        """The picture in words, with its numbers."""
        measured = [visit for visit in self.visits if visit.states]
        if not measured:
            return f"{self.item}: no visit has measured it yet."
        told = "; ".join(abridged(measured, MOST_TOLD, self._told_visit))
        parts = [f"{self.item} over {_count(len(measured), 'visit')}: {told}."]
        if self.tolerances:
            parts.append(f"Tolerance: {'; '.join(map(self._told_limits, self.tolerances))}.")
        if self.factory_um is not None:
            parts.append(f"The factory's own figure was {self._factory_words}.")
        if self.incidents:
            told = (f"{mark.label} on {self.format_date(mark.day)}" for mark in self.incidents)
            parts.append(f"Incidents: {listed(told)}.")
        if self.forecast:
            parts.append(self._told_forecast())
        return " ".join(parts)

    def _told_visit(self, visit):
        told = (f"{words} {self.format_length(value)}" for words, value, *_ in visit.states)
        return f"{self.format_date(visit.day)} {', '.join(told)}"

    def _told_limits(self, tolerance):
        ends = (tolerance.lower_um, tolerance.upper_um)
        lower, upper = (um if um is None else self.format_length(um) for um in ends)
        if lower is None or upper is None:
            told = f"at most {upper}" if lower is None else f"at least {lower}"
        else:
            told = f"from {lower} to {upper}"
        since = f" since {self.format_date(tolerance.since)}" if tolerance.since else ""
        return f"{told}{since}"

    def _told_forecast(self):
        fan = self.forecast
        low, middle, high = (
            self.format_length(values[-1])
            for values in (fan.low95_um, fan.middle_um, fan.high95_um)
        )
        return (
            f"Forecast for {self.format_date(fan.days[-1])}: {middle}, "
            f"with 95 % between {low} and {high}."
        )


def _span(values):
    return min(values), max(values)


def _limited(low, high, needed_low, needed_high):
    """The range cut back to ``FURTHEST`` times what the limits themselves need."""
    reach = (needed_high - needed_low) * (FURTHEST - 1)
    return max(low, needed_low - reach), min(high, needed_high + reach)


def _count(number, noun):
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
