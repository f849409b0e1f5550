"""The picture of a tilt: where something stands along z, sideways and in height."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from alignment.sheets.directions import place_shown
from shop.paper.drawing import SMALL, TEXT, Pen, position_mark, ticks
from shop.paper.palettes import LIGHT

from .positions import Lengths

WIDTH, PANEL = 360, 120
SMALL_WIDTH, SMALL_PANEL = 230, 62
LEFT, RIGHT, GAP, FOOT, HEAD = 62, 14, 26, 34, 20
LEGEND = 20
MARK_RADIUS = 4


@dataclass(frozen=True)
class PlottedLine:
    """Points along z: ``z_mm`` (n), ``front_um`` (n), ``up_um`` (n), n of 2 or more."""

    z_mm: tuple[float, ...]
    front_um: tuple[float, ...]
    up_um: tuple[float, ...]

    def values(self, part):
        return self.front_um if part == "front" else self.up_um


@dataclass(frozen=True)
class LinesFigure:
    """An axis or a travel in two views one above the other, as found and as left.

    ``what`` says what stands along z, such as 'the axis', ``along`` which way z counts.
    """

    station: str
    format_length: Lengths
    what: str = "the axis"
    as_found: PlottedLine | None = None
    as_left: PlottedLine | None = None
    along: str = "away from the indicator"
    round_um: float = 1.0
    width: int = WIDTH
    panel: int = PANEL

    def small(self):
        """The same picture three to a row of paper."""
        return replace(self, width=SMALL_WIDTH, panel=SMALL_PANEL)

    @property
    def told(self):
        """What its axis means, where the picture has no room to say it."""
        return [f"z in mm, {self.along}."] if self.width < WIDTH else []

    @property
    def states(self):
        both = (("as found", self.as_found, False), ("as left", self.as_left, True))
        return [state for state in both if state[1] is not None]

    @cached_property
    def z_span(self):
        z = [z for _, line, _ in self.states for z in line.z_mm]
        return min(z), max(z)

    @cached_property
    def reach_um(self):
        """What both views show above and below zero, so that they compare."""
        sizes = [
            abs(value) for _, line, _ in self.states for value in (*line.front_um, *line.up_um)
        ]
        return 1.15 * max([*sizes, self.round_um])

    def drawing(self, palette=LIGHT):
        height = 2 * (self.panel + HEAD) + GAP + FOOT + LEGEND
        pen = Pen(self.width, height, palette)
        top = height - HEAD
        self._view(pen, top - self.panel, "Sideways: plus is to the front", "front")
        low = top - 2 * self.panel - GAP - HEAD
        self._view(pen, low, "In height: plus is up", "up")
        for z in self._z_marks():
            pen.text(self._x(z), low - 14, f"{z:g}", size=SMALL, anchor="middle")
        words = "z in mm" if self.told else f"z in mm, {self.along}"
        pen.text(self.width - RIGHT, low - 27, words, size=SMALL, anchor="end")
        self._legend(pen)
        return pen.drawing

    def _x(self, z):
        low, high = self.z_span
        room = self.width - LEFT - RIGHT - 2 * MARK_RADIUS
        return LEFT + MARK_RADIUS + room * (z - low) / (high - low)

    def _z_marks(self):
        """The planes themselves, unless they are so many that their figures would run together."""
        planes = sorted({z for _, line, _ in self.states for z in line.z_mm})
        return planes if len(planes) <= 6 else ticks(*self.z_span, at_most=5)

    def _view(self, pen, bottom, title, part):
        muted, rule = pen.palette.muted, pen.palette.rule
        left = 0 if self.told else LEFT
        pen.text(left, bottom + self.panel + 6, title, size=TEXT, bold=True)
        middle = bottom + self.panel / 2
        scale = self.panel / 2 / self.reach_um
        pen.rect(LEFT, bottom, self.width - LEFT - RIGHT, self.panel, stroke=rule, line=0.8)
        for tick in ticks(-self.reach_um / self.round_um, self.reach_um / self.round_um, 6):
            y = middle + tick * self.round_um * scale
            stroke = muted if abs(tick) < 1e-9 else rule
            pen.line(LEFT, y, self.width - RIGHT, y, stroke=stroke, width=0.8)
            label = self.format_length(tick * self.round_um)
            pen.text(LEFT - 5, y - 3.5, label, size=SMALL - 1.5, colour=muted, anchor="end")
        for words, line, filled in self.states:
            self._line(pen, line, part, middle, scale, words == "as left", filled)

    def _line(self, pen, line, part, middle, scale, solid, filled):
        values = np.array(line.values(part))
        z = np.array(line.z_mm)
        slope, level = np.polyfit(z - z.mean(), values, 1)
        ends = [z.min(), z.max()]
        points = [(self._x(at), middle + scale * (level + slope * (at - z.mean()))) for at in ends]
        accent = pen.palette.accent
        pen.polyline(points, stroke=accent, width=1.4, dash=None if solid else (4, 3))
        for at, value in zip(z, values, strict=True):
            position_mark(pen, self._x(at), middle + scale * value, filled, MARK_RADIUS)

    def _legend(self, pen):
        x = LEFT
        for words, _, filled in self.states:
            position_mark(pen, x + MARK_RADIUS, 9, filled, MARK_RADIUS)
            pen.text(x + 14, 5, words, size=SMALL)
            x += 90

    def describe(self):
        """Near and far ends in words."""
        if not self.states:
            return f"{self.station}: nothing measured yet."
        told = "; ".join(self._told(words, line) for words, line, _ in self.states)
        return f"{self.station}: {told}."

    def _told(self, words, line):
        ends = sorted(range(len(line.z_mm)), key=lambda n: line.z_mm[n])
        near, far = (self._at(line, n) for n in (ends[0], ends[-1]))
        return f"{words} {self.what} stands {near} and {far}"

    def _at(self, line, n):
        off = place_shown(line.front_um[n], line.up_um[n], self.format_length)
        return f"{off or 'with no offset'} at z = {line.z_mm[n]:g} mm"
