"""The way a station went over the visits, inside its tolerance circle."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from shop.paper.drawing import SMALL, Pen, abridged, fitted, position_mark, wrapped
from shop.paper.fonts import text_width
from shop.paper.palettes import LIGHT

from .polar import PolarPanel, fitting_extent
from .positions import AxisPosition, Lengths, said
from .series import plain_date

WIDTH = 360
MARGIN = 12
DIAL_RADIUS = 146
DIAL_ROOM = 2 * DIAL_RADIUS + 40
ROW = 15
MARK = 3.6
NUMBER_GAP = 7

NUMBER_DIRECTIONS = ((1, 0), (-1, 0), (0.5, 1), (0.5, -1), (-0.5, 1), (-0.5, -1))

# A longer list says less than the table beside the picture: the first and the latest are kept.
MOST_ROWS = 12
MOST_TOLD = 6

NOTE = "Ring: as found. Dot: as left. Solid line: drift. Dotted: adjusted."


@dataclass(frozen=True)
class TrackVisit:
    """Where one visit found the axis and where it left it."""

    day: date
    as_found: AxisPosition | None = None
    as_left: AxisPosition | None = None

    @property
    def states(self):
        """(words, position, drawn filled) of what was measured, found first."""
        both = (("as found", self.as_found, False), ("as left", self.as_left, True))
        return [state for state in both if state[1] is not None]


@dataclass(frozen=True)
class TrackFigure:
    """One station's axis over its visits, in order of their dates, numbered from 1."""

    station: str
    format_length: Lengths
    visits: tuple[TrackVisit, ...] = ()
    tolerance_um: float | None = None
    front_at: str = "right"
    round_um: float = 1.0
    format_date: Callable[[date], str] = plain_date

    @property
    def positions(self):
        return [at for visit in self.visits for _, at, _ in visit.states]

    @property
    def numbered(self):
        """(number, visit) of the visits that measured something."""
        return [(n, visit) for n, visit in enumerate(self.visits, start=1) if visit.states]

    def drawing(self, palette=LIGHT):
        rows = self._rows()
        notes = wrapped(NOTE, WIDTH - 2 * MARGIN, SMALL)
        legend = ROW * (len(rows) + len(notes)) + MARGIN
        pen = Pen(WIDTH, DIAL_ROOM + legend, palette)
        self._dial(pen, legend + DIAL_ROOM / 2)
        for row, line in enumerate([*rows, *notes]):
            shown = fitted(line, WIDTH - 2 * MARGIN, SMALL)
            colour = palette.ink if row < len(rows) else palette.muted
            pen.text(MARGIN, legend - ROW * (row + 1), shown, SMALL, colour)
        return pen.drawing

    def _dial(self, pen, y):
        extent = fitting_extent(self.positions, self.tolerance_um)
        panel = PolarPanel(pen, WIDTH / 2, y, DIAL_RADIUS, extent, self.front_at)
        if self.tolerance_um:
            panel.fill_tolerance(self.tolerance_um)
        panel.dial()
        panel.rings(self.format_length, self.round_um, self.positions, self.tolerance_um)
        panel.cross_hairs()
        if self.tolerance_um:
            panel.tolerance(self.tolerance_um, f"tolerance {self.format_length(self.tolerance_um)}")
        self._paths(panel)
        self._marks(panel)

    def _paths(self, panel):
        """Solid where the axis drifted between visits, dotted where it was moved back."""
        accent = panel.pen.palette.accent
        for before, after in pairwise([visit for _, visit in self.numbered]):
            start, end = before.states[-1][1], after.states[0][1]
            panel.pen.line(*_at(panel, start), *_at(panel, end), stroke=accent, width=1.3)
        for _, visit in self.numbered:
            ends = [_at(panel, at) for _, at, _ in visit.states]
            if len(ends) == 2:
                panel.pen.line(*ends[0], *ends[1], stroke=accent, dash=(1.5, 2), width=1.3)

    def _marks(self, panel):
        for _, visit in self.numbered:
            for _, at, filled in visit.states:
                position_mark(panel.pen, *_at(panel, at), filled, MARK)
        self._numbers(panel)

    def _numbers(self, panel):
        """Each visit's number beside its first mark, where there is room; the list has them all."""
        taken = [_box(*_at(panel, at), 2 * MARK) for at in self.positions]
        for number, visit in self.numbered:
            x, y = _at(panel, visit.states[0][1])
            label = f"{number}"
            width = text_width(label, SMALL, bold=True)
            for right, up in NUMBER_DIRECTIONS:
                middle = (x + right * (NUMBER_GAP + width / 2), y + up * NUMBER_GAP * 1.5)
                box = _box(*middle, width + 1, SMALL - 2)
                if not any(_overlap(box, other) for other in taken):
                    taken.append(box)
                    at = (middle[0], middle[1] - SMALL * 0.36)
                    panel.pen.text(*at, label, SMALL, anchor="middle", bold=True)
                    break

    def _rows(self):
        """One line per visit: its number, its date, and where it found and left the axis."""
        return abridged(self.numbered, MOST_ROWS, self._row) or ["Not measured yet."]

    def _row(self, numbered):
        number, visit = numbered
        told = ", ".join(
            f"{words} {self.format_length(at.offset_um)}" for words, at, _ in visit.states
        )
        return f"{number}. {self.format_date(visit.day)}: {told}"

    def describe(self):
        """The picture in words, with its numbers."""
        if not self.positions:
            return f"{self.station}: no visit has measured it yet."
        visits = [visit for _, visit in self.numbered]
        told = "; ".join(abridged(visits, MOST_TOLD, self._told))
        allowed = (
            f" Tolerance {self.format_length(self.tolerance_um)}." if self.tolerance_um else ""
        )
        return f"{self.station}, the axis over {len(self.numbered)} visits: {told}.{allowed}"

    def _told(self, visit):
        states = ", ".join(
            f"{words} {said(at, self.format_length)}" for words, at, _ in visit.states
        )
        return f"{self.format_date(visit.day)} {states}"


def _at(panel, position):
    return panel.point(position.front_um, position.up_um)


def _box(x, y, width, height=None):
    """(left, low, right, high) of a box about its middle."""
    half_width, half_height = width / 2, (height or width) / 2
    return (x - half_width, y - half_height, x + half_width, y + half_height)


def _overlap(one, other):
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
