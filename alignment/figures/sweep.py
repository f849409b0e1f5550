"""The picture of a sweep: where the station stands in its tolerance, as found and as left."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import floor, log10

import numpy as np

from shop.paper.drawing import SMALL, TEXT, Pen, listed, position_mark, verdict_mark, wrapped
from shop.paper.fonts import text_width
from shop.paper.palettes import LIGHT

from .polar import Band, PolarPanel, fitting_extent
from .positions import AxisPosition, Lengths, components, said

WIDTH = 360
SMALL_WIDTH, SMALL_RADIUS = 230, 80
MARGIN = 12
DIAL_RADIUS = 132
DIAL_MARGIN = 52
CLOCK_GAP = 17
INSET_RADIUS = 66
INSET_ROOM = 2 * INSET_RADIUS + 24
LEGEND_ROW = 32
LINE = 14
FORM_HEIGHT = 9
FORM_STEP_DEG = 3

# Beyond this many tolerances the centre gets a picture of its own, if anything lies in it.
ENLARGE_BEYOND = 5
ENLARGED_REACH = 2.5


@dataclass(frozen=True)
class SweepFigure:
    """Where a station stands from its datum, against its tolerance.

    ``front_at``: the hand at which front is drawn, that of the indicator's view, so that picture
    and dial can be held together. ``tolerance_um`` is the
    largest offset allowed; ``bands`` are limits for one direction alone. ``round_um`` is the
    length whose multiples make round scale marks (1 for micrometres, 25.4 for thousandths of an
    inch). ``width`` and ``radius`` are the size of the picture and its dial in points; without
    its legend, `told` stands beside it. `small` gives the size for three to a row of paper.
    """

    station: str
    format_length: Lengths
    as_found: AxisPosition | None = None
    as_left: AxisPosition | None = None
    tolerance_um: float | None = None
    front_at: str = "right"
    bands: tuple[Band, ...] = ()
    round_um: float = 1.0
    width: int = WIDTH
    radius: int = DIAL_RADIUS
    with_legend: bool = True

    def small(self):
        """The same picture three to a row, its legend left to the caption; whole where the centre
        is drawn larger, which takes the room."""
        if self.enlarged:
            return self
        return replace(self, width=SMALL_WIDTH, radius=SMALL_RADIUS, with_legend=False)

    @property
    def told(self):
        """What a legend would say, in sentences; none where the picture has its own."""
        if self.with_legend:
            return []
        told = [self._told(words, at) for words, at, _ in self.states]
        return [*told, f"Form {self._form_words()}."] if self.form else told

    def _told(self, words, at):
        parts = components(at, self.format_length) or "no offset"
        verdict = f", {at.verdict}" if at.verdict else ""
        return (
            f"{words[:1].upper()}{words[1:]} {self.format_length(at.offset_um)}{verdict}: {parts}."
        )

    @property
    def states(self):
        """(words, position, drawn filled) of what was measured."""
        both = (("as found", self.as_found, False), ("as left", self.as_left, True))
        return [state for state in both if state[1] is not None]

    @cached_property
    def extent_um(self):
        positions = [position for _, position, _ in self.states]
        return fitting_extent(positions, self.tolerance_um, self.bands)

    @cached_property
    def enlarged(self):
        """The states near the centre, when the picture is too coarse to show them."""
        if not self.tolerance_um or self.extent_um < ENLARGE_BEYOND * self.tolerance_um:
            return []
        near = ENLARGED_REACH * self.tolerance_um
        return [state for state in self.states if state[1].offset_um <= near]

    @property
    def form(self):
        """(words, residuals) of the latest sweep that has residuals; None without."""
        shown = [(words, at.residuals) for words, at, _ in self.states if at.residuals]
        return shown[-1] if shown else None

    def drawing(self, palette=LIGHT):
        notes = self._note_lines() if self.with_legend else []
        inset = INSET_ROOM if self.enlarged else 0
        rows = LEGEND_ROW * len(self.states) if self.with_legend else 0
        legend = rows + LINE * len(notes) + MARGIN
        pen = Pen(self.width, self._dial_room + inset + legend, palette)
        self._main_dial(pen)
        if self.enlarged:
            self._enlarged_dial(pen, legend + INSET_ROOM / 2)
        if self.with_legend:
            self._legend(pen, legend - LINE, notes)
        return pen.drawing

    @property
    def _dial_room(self):
        return 2 * self.radius + DIAL_MARGIN

    def _main_dial(self, pen):
        middle = pen.height - self._dial_room / 2
        panel = PolarPanel(pen, self.width / 2, middle, self.radius, self.extent_um, self.front_at)
        if self.tolerance_um:
            panel.fill_tolerance(self.tolerance_um)
        panel.dial(gap=CLOCK_GAP)
        positions = [at for _, at, _ in self.states]
        panel.rings(self.format_length, self.round_um, positions, self.tolerance_um)
        panel.cross_hairs()
        for band in self.bands:
            panel.band(band, self.format_length)
        if self.tolerance_um:
            panel.tolerance(self.tolerance_um, f"tolerance {self.format_length(self.tolerance_um)}")
        if self.form:
            self._draw_form(panel)
        self._draw_states(panel, self.states)

    def _enlarged_dial(self, pen, y):
        extent = fitting_extent([at for _, at, _ in self.enlarged], self.tolerance_um)
        panel = PolarPanel(pen, MARGIN + INSET_RADIUS, y, INSET_RADIUS, extent, self.front_at)
        panel.fill_tolerance(self.tolerance_um)
        panel.dial(numbers=False)
        panel.cross_hairs()
        panel.tolerance(self.tolerance_um)
        self._draw_states(panel, self.enlarged)
        times = (INSET_RADIUS / extent) / (self.radius / self.extent_um)
        words = (
            f"The centre, drawn {times:.0f} times larger: "
            f"the heavy circle is the tolerance of {self.format_length(self.tolerance_um)}."
        )
        left = MARGIN + 2 * INSET_RADIUS + 14
        for row, line in enumerate(wrapped(words, self.width - left - MARGIN, TEXT)):
            pen.text(left, y + LINE - row * LINE, line)

    def _draw_states(self, panel, states):
        ends = [panel.point(at.front_um, at.up_um) for _, at, _ in states]
        for _, at, filled in states:
            panel.ellipse(at, dash=None if filled else (3, 2))
        if len(ends) == 2:
            panel.move(*ends)
        for end, (_, _, filled) in zip(ends, states, strict=True):
            position_mark(panel.pen, *end, filled)

    def _exaggeration(self, residuals):
        """The round number of times the form is enlarged so that it fills its height."""
        largest = max(abs(size) for _, size in residuals)
        if largest == 0:
            return 1.0
        full = FORM_HEIGHT / largest / (self.radius / self.extent_um)
        return _round_down(full)

    def _draw_form(self, panel):
        _, residuals = self.form
        scale = self._exaggeration(residuals) * panel.points_per_um
        angles, sizes = zip(*sorted(residuals), strict=True)
        ink = panel.pen.palette.ink
        turn = np.arange(0, 361, FORM_STEP_DEG)
        heights = panel.radius + scale * np.interp(turn, angles, sizes, period=360)
        curve = [panel.at_clock(*at) for at in zip(turn.tolist(), heights.tolist(), strict=True)]
        panel.pen.polyline(curve, stroke=ink, width=0.9)
        for angle, size in residuals:
            point = panel.at_clock(angle, panel.radius + size * scale)
            panel.pen.circle(*point, 1.8, fill=ink, stroke=None)

    def _legend(self, pen, top, notes):
        for row, (words, at, filled) in enumerate(self.states):
            self._legend_row(pen, top - row * LEGEND_ROW, words, at, filled)
        for row, line in enumerate(notes):
            y = top - LEGEND_ROW * len(self.states) - row * LINE
            pen.text(MARGIN, y, line, SMALL, pen.palette.muted)

    def _legend_row(self, pen, y, words, at, filled):
        position_mark(pen, MARGIN + 5, y + 4, filled)
        pen.text(MARGIN + 18, y, f"{words} {self.format_length(at.offset_um)}", bold=True)
        if at.verdict:
            left = self.width - MARGIN - text_width(at.verdict, TEXT, bold=True)
            pen.text(left, y, at.verdict, bold=True)
            verdict_mark(pen, at.verdict, left - 11, y + 4, 11)
        parts = components(at, self.format_length) or "no offset"
        room = self.width - 2 * MARGIN - 18
        pen.fitted(MARGIN + 18, y - LINE, parts, room, size=SMALL, colour=pen.palette.muted)

    def _note_lines(self):
        room = self.width - 2 * MARGIN
        return [line for note in self.notes for line in wrapped(note, room, SMALL)]

    @property
    def notes(self):
        """What the marks mean, as sentences printed under the picture."""
        notes = []
        if any(at.covariance_um2 is not None for _, at, _ in self.states):
            notes.append("Ellipse: it stands there with 95 % confidence.")
        if self.form:
            notes.append(self._form_note())
        return notes

    def _form_note(self):
        return f"Outer ring: form of what was swept, {self._form_words()}, plus outwards."

    def _form_words(self):
        words, residuals = self.form
        sizes = [size for _, size in residuals]
        form = self.format_length(max(sizes) - min(sizes))
        times = self._exaggeration(residuals)
        size = "drawn to scale" if times == 1 else f"drawn {times:g} times its size"
        return f"{words}, {form} in all, {size}"

    def describe(self):
        """The picture in words, with its numbers."""
        if not self.states:
            return f"{self.station}: not measured."
        said_states = listed(self._state_words(*state[:2]) for state in self.states)
        return f"{self.station}: {said_states}.{self._limits_words()}"

    def _state_words(self, words, at):
        verdict = f", {at.verdict}" if at.verdict else ""
        return f"{words} it stands off its datum by {said(at, self.format_length)}{verdict}"

    def _limits_words(self):
        said_limits = []
        if self.tolerance_um:
            said_limits.append(f"tolerance {self.format_length(self.tolerance_um)}")
        for band in self.bands:
            limits = listed(band.told(limit, self.format_length) for limit in band.limits_um)
            said_limits.append(f"limits of {limits}")
        return f" Allowed: {listed(said_limits)}." if said_limits else ""


def _round_down(number):
    """The largest 1, 2 or 5 times a power of ten that is not above ``number``."""
    power = 10.0 ** floor(log10(number))
    return next(power * m for m in (5, 2, 1) if power * m <= number * (1 + 1e-9))
