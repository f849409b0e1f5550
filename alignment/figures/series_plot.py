"""The plot of a series inside its axes: limits, forecast, incidents, visits."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

from shop.paper.drawing import SMALL, date_label, date_ticks, incident_mark, position_mark, ticks
from shop.paper.fonts import text_width

PLOT_HEIGHT = 190
RIGHT = 14
LABEL_GAP = 6
DATE_SPACING = 62
VALUE_TICKS = 6
WHISKER = 3
MARK = 4


class SeriesPlot:
    """Draws a ``SeriesFigure``; ``bottom`` is where the time axis lies."""

    def __init__(self, figure, pen, bottom):
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
            colour = self.palette.muted if value == 0 else self.palette.rule
            self.pen.line(self.left, y, self.right, y, stroke=colour, width=0.5)
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
