"""The picture of one acceptance item over its visits, with tolerance, incidents and forecast."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise

from shop.drawing import (
    SMALL,
    Pen,
    abridged,
    date_label,
    date_ticks,
    incident_mark,
    listed,
    position_mark,
    ticks,
    wrapped,
)
from shop.fonts import text_width
from shop.palettes import LIGHT

from .positions import Lengths

WIDTH = 360
PLOT_HEIGHT = 190
TOP = 26
RIGHT = 14
DATE_ROOM = 24
LINE = 14
LABEL_GAP = 6
DATE_SPACING = 62
VALUE_TICKS = 6
WHISKER = 3
MARK = 4
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
        _SeriesPlot(self, pen, bottom).draw()
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
        told = "; ".join(abridged(map(self._told_visit, measured), MOST_TOLD))
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
        told = []
        if tolerance.lower_um is not None:
            told.append(f"at least {self.format_length(tolerance.lower_um)}")
        if tolerance.upper_um is not None:
            told.append(f"at most {self.format_length(tolerance.upper_um)}")
        since = f" since {self.format_date(tolerance.since)}" if tolerance.since else ""
        return f"{' and '.join(told)}{since}"

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


class _SeriesPlot:
    """The plot inside its axes; ``bottom`` is where the time axis lies."""

    def __init__(self, figure: SeriesFigure, pen: Pen, bottom):
        self.figure, self.pen, self.palette = figure, pen, pen.palette
        self.low, self.high = figure.value_range
        self.first, self.last = figure.day_range if figure.visits else (date.min, date.max)
        self.values = self._round_values()
        widest = max(text_width(figure.format_length(v), SMALL) for v in self.values)
        self.left, self.right = 10 + widest + LABEL_GAP, pen.width - RIGHT
        self.bottom, self.top = bottom, bottom + PLOT_HEIGHT

    def _round_values(self):
        unit = self.figure.round_um
        return [unit * v for v in ticks(self.low / unit, self.high / unit, VALUE_TICKS)]

    def x(self, day):
        share = (day - self.first) / (self.last - self.first)
        return self.left + share * (self.right - self.left)

    def y(self, value):
        """Height of a value, held inside the picture."""
        inside = min(max(value, self.low), self.high)
        share = (inside - self.low) / (self.high - self.low)
        return self.bottom + share * (self.top - self.bottom)

    def draw(self):
        self._value_axis()
        self._fan()
        self._tolerances()
        self._factory()
        if self.figure.visits:
            self._over_time()
        else:
            middle = (self.left + self.right) / 2
            low = self.bottom + PLOT_HEIGHT / 4
            self.pen.text(middle, low, "not measured yet", anchor="middle", halo=True)

    def _over_time(self):
        self._date_axis()
        self._incidents()
        self._drift_lines()
        for visit in self.figure.visits:
            self._visit(visit)

    def _value_axis(self):
        for value in self.values:
            y = self.y(value)
            heavy = value == 0
            colour = self.palette.muted if heavy else self.palette.faint
            self.pen.line(self.left, y, self.right, y, stroke=colour, width=0.8)
            label = self.figure.format_length(value)
            self.pen.text(
                self.left - LABEL_GAP, y - 3.6, label, SMALL, self.palette.muted, anchor="end"
            )

    def _date_axis(self):
        pen, muted = self.pen, self.palette.muted
        pen.line(self.left, self.bottom, self.right, self.bottom, stroke=muted)
        at_most = max(2, int((self.right - self.left) / DATE_SPACING))
        days = date_ticks(self.first, self.last, at_most)
        months = round((days[-1] - days[0]).days / 30.4 / max(len(days) - 1, 1))
        for day in days:
            x = self.x(day)
            pen.line(x, self.bottom, x, self.bottom - 4, stroke=muted)
            label = date_label(day, months if len(days) > 1 else 1)
            half = text_width(label, SMALL) / 2
            x = min(max(x, half + 4), pen.width - half - 4)
            pen.text(x, self.bottom - 15, label, SMALL, muted, "middle")

    def _tolerances(self):
        periods = self.figure.tolerances
        starts = [max(period.since or self.first, self.first) for period in periods]
        for period, start, end in zip(periods, starts, [*starts[1:], self.last], strict=False):
            end = min(end, self.last)
            if end > start:
                for value, word in ((period.upper_um, "upper"), (period.lower_um, "lower")):
                    self._limit(value, word, self.x(start), self.x(end))

    def _limit(self, value, word, start, end):
        if value is None:
            return
        y = self.y(value)
        self.pen.line(start, y, end, y, width=2)
        label = f"{word} limit {self.figure.format_length(value)}"
        above = y + 4 if word == "upper" else y - 12
        if text_width(label, SMALL, bold=True) < end - start:
            self.pen.text(start + 3, above, label, SMALL, bold=True, halo=True)

    def _factory(self):
        value = self.figure.factory_um
        if value is None:
            return
        y, muted = self.y(value), self.palette.muted
        self.pen.line(self.left, y, self.right, y, stroke=muted, width=1.2, dash=(7, 3))

    def _fan(self):
        fan = self.figure.forecast
        if fan is None:
            return
        self._fan_band(fan.low95_um, fan.high95_um, self.palette.faint)
        self._fan_band(fan.low50_um, fan.high50_um, self.palette.band)
        middle = [(self.x(d), self.y(v)) for d, v in zip(fan.days, fan.middle_um, strict=True)]
        self.pen.polyline(middle, stroke=self.palette.accent, width=1.2, dash=(5, 3))

    def _fan_band(self, low, high, colour):
        days = self.figure.forecast.days
        upper = [(self.x(d), self.y(v)) for d, v in zip(days, high, strict=True)]
        lower = [(self.x(d), self.y(v)) for d, v in zip(days, low, strict=True)]
        self.pen.polygon(upper + lower[::-1], fill=colour, stroke=self.palette.rule, width=0.6)

    def _incidents(self):
        for mark in self.figure.incidents:
            x = self.x(mark.day)
            self.pen.line(x, self.bottom, x, self.top + 4, width=0.9, dash=(1, 2))
            incident_mark(self.pen, x, self.top + 4)

    def _drift_lines(self):
        """From what one visit left (or found, if it adjusted nothing) to what the next found."""
        for before, after in pairwise(self.figure.visits):
            if before.states and after.states:
                start, end = before.states[-1][1], after.states[0][1]
                ends = (self.x(before.day), self.y(start), self.x(after.day), self.y(end))
                self.pen.line(*ends, stroke=self.palette.accent, width=1.3)

    def _visit(self, visit):
        x, accent = self.x(visit.day), self.palette.accent
        heights = [self.y(value) for _, value, _, _ in visit.states]
        if len(heights) == 2:
            self.pen.line(x, heights[0], x, heights[1], stroke=accent, dash=(1.5, 2), width=1.3)
        for _, value, u, filled in visit.states:
            self._value(x, value, u, filled)

    def _value(self, x, value, u, filled):
        if self.figure.is_off_picture(value):
            self._edge_mark(x, value)
            return
        if u:
            self._error_bar(x, value, u)
        position_mark(self.pen, x, self.y(value), filled, MARK)

    def _error_bar(self, x, value, u):
        low, high = self.y(value - u), self.y(value + u)
        self.pen.line(x, low, x, high, width=0.9)
        for end in (low, high):
            self.pen.line(x - WHISKER, end, x + WHISKER, end, width=0.9)

    def _edge_mark(self, x, value):
        """An arrow through the edge with the value beside it."""
        up = value > self.high
        edge, inner = (self.top, self.top - 18) if up else (self.bottom, self.bottom + 18)
        self.pen.arrow(x, inner, x, edge, width=1.6)
        label = self.figure.format_length(value)
        to_left = x + text_width(label, SMALL, bold=True) + 8 > self.right
        self.pen.text(
            x - 6 if to_left else x + 6,
            (edge + inner) / 2 - 4,
            label,
            SMALL,
            anchor="end" if to_left else "start",
            bold=True,
            halo=True,
        )
