"""The round picture of a station's axis about its datum's: rings, tolerance, front and rear."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, pi, sin

from alignment.sheets.directions import SHORT, WORDS, figure_shown
from shop.paper.drawing import SMALL, Pen, nice_step

from .positions import AxisPosition, ellipse_points

RING_COUNT = 3
TICK = 6
CLOCK_GAP = 9
RING_LABELS_DEG = (45, 135, 315)
TOLERANCE_LABEL_DEG = 225
RING_CLEARANCE = 6
MARK_CLEARANCE = 7
SMALLEST_CIRCLE = 3
LEADER_BELOW = 16
EDGE = 1.12


@dataclass(frozen=True)
class Band:
    """Limits for one direction alone, ``front`` or ``up``, in micrometres; None is open."""

    direction: str
    lower_um: float | None = None
    upper_um: float | None = None

    @property
    def limits_um(self):
        return [limit for limit in (self.lower_um, self.upper_um) if limit is not None]

    def told(self, limit, format_length, words=WORDS):
        """One of its limits with its direction."""
        return figure_shown(limit, self.direction, format_length, words=words)


def fitting_extent(positions, tolerance_um=None, bands=()):
    """Micrometres from the centre to the dial so that everything named lies inside it."""
    reaches = [position.reach_um for position in positions]
    reaches += [tolerance_um or 0.0]
    reaches += [abs(limit) for band in bands for limit in band.limits_um]
    return EDGE * max(reaches, default=0.0) or 1.0


class PolarPanel:
    """One dial of ``radius`` points about (x, y); ``extent_um`` is the length of that radius.

    ``front_at``: the hand at which front is drawn, that of the indicator's view.
    """

    def __init__(self, pen: Pen, x, y, radius, extent_um, front_at="right"):
        self.pen, self.x, self.y, self.radius = pen, x, y, radius
        self.hand = 1 if front_at == "right" else -1
        self.extent_um = extent_um
        self.points_per_um = radius / extent_um

    def point(self, front_um, up_um):
        across = self.hand * front_um * self.points_per_um
        return (self.x + across, self.y + up_um * self.points_per_um)

    def at_clock(self, clock_deg, distance):
        """The point ``distance`` points from the centre at a clock angle."""
        angle = clock_deg * pi / 180
        return (self.x + distance * sin(angle), self.y + distance * cos(angle))

    def dial(self, numbers=True, gap=CLOCK_GAP):
        """The outer circle with a tick each hour, and front, rear, up and down at its sides."""
        pen, palette = self.pen, self.pen.palette
        pen.circle(self.x, self.y, self.radius, stroke=palette.muted, width=1)
        for hour in range(12):
            length = TICK if hour % 3 == 0 else TICK / 2
            start = self.at_clock(30 * hour, self.radius)
            pen.line(*start, *self.at_clock(30 * hour, self.radius - length), stroke=palette.muted)
        if numbers:
            self._directions(gap)

    def _directions(self, gap):
        pen, muted = self.pen, self.pen.palette.muted
        drop = SMALL * 0.36
        for words, way in (("front", self.hand), ("rear", -self.hand)):
            anchor = "start" if way > 0 else "end"
            x = self.x + way * (self.radius + gap / 2)
            pen.text(x, self.y - drop, words, SMALL, muted, anchor, bold=True)
        for words, way in (("up", 1), ("down", -1)):
            y = self.y + way * (self.radius + gap) - drop
            pen.text(self.x, y, words, SMALL, muted, "middle", bold=True)

    def cross_hairs(self):
        """Lines through the datum's axis."""
        pen, muted = self.pen, self.pen.palette.muted
        x, y, radius = self.x, self.y, self.radius
        pen.line(x - radius, y, x + radius, y, stroke=muted, width=0.7)
        pen.line(x, y - radius, x, y + radius, stroke=muted, width=0.7)

    def rings(self, format_length, round_um=1.0, positions=(), tolerance_um=None):
        """Circles at round lengths, labelled where no position is in the way.

        One that would run along the dial or the tolerance circle is left out.
        """
        step = nice_step(self.extent_um / round_um, RING_COUNT) * round_um
        towards = self._clear_direction(positions)
        taken = [self.extent_um, tolerance_um or 0.0]
        for count in range(1, int(self.extent_um / step) + 1):
            nearest = min(abs(count * step - size) for size in taken)
            if nearest * self.points_per_um > RING_CLEARANCE:
                self._ring(count * step, towards, format_length)

    def _ring(self, size_um, towards, format_length):
        pen, palette = self.pen, self.pen.palette
        distance = size_um * self.points_per_um
        pen.circle(self.x, self.y, distance, stroke=palette.rule, width=0.8, dash=(2, 2))
        x, y = self.at_clock(towards, distance)
        label = format_length(size_um)
        pen.text(x, y - SMALL * 0.36, label, SMALL, palette.muted, "middle", halo=True)

    def _clear_direction(self, positions):
        """The clock angle among the label directions that is furthest from every position."""

        def clearance(towards):
            drawn = (atan2(self.hand * at.front_um, at.up_um) for at in positions)
            turns = (abs((degrees(at) - towards + 180) % 360 - 180) for at in drawn)
            return min(turns, default=180)

        return max(RING_LABELS_DEG, key=clearance)

    def fill_tolerance(self, tolerance_um):
        """The ground inside the tolerance circle; first, so that all else lies on top."""
        radius = tolerance_um * self.points_per_um
        self.pen.circle(self.x, self.y, radius, fill=self.pen.palette.faint, stroke=None)

    def tolerance(self, tolerance_um, label=""):
        """The tolerance circle, named at half past seven; never too small to see."""
        pen = self.pen
        true_radius = tolerance_um * self.points_per_um
        radius = max(true_radius, SMALLEST_CIRCLE)
        pen.circle(self.x, self.y, radius, width=2)
        if not label:
            return
        if true_radius < radius:
            label += ", drawn larger"
        if radius < self.radius / 2:
            self._leader(radius, label)
        else:
            x, y = self.at_clock(TOLERANCE_LABEL_DEG, radius)
            pen.text(x, y - 4, label, SMALL, anchor="middle", bold=True, halo=True)

    def _leader(self, radius, label):
        """A name beside a small circle, clear of it, with a line to it."""
        below = self.y - max(radius * 1.4, LEADER_BELOW) - SMALL
        start = self.at_clock(210, radius)
        self.pen.line(*start, self.x - radius - 10, below + SMALL, width=0.8)
        self.pen.text(self.x - radius - 8, below, label, SMALL, anchor="end", bold=True, halo=True)

    def band(self, band: Band, format_length):
        """Straight lines where only one direction has limits."""
        for limit in band.limits_um:
            if band.direction == "front":
                x, _ = self.point(limit, 0)
                self.pen.line(x, self.y - self.radius, x, self.y + self.radius, width=1.6)
                at = (x, self.y - 0.8 * self.radius)
            else:
                _, y = self.point(0, limit)
                self.pen.line(self.x - self.radius, y, self.x + self.radius, y, width=1.6)
                at = (self.x - 0.7 * self.radius, y - 4)
            label = f"limit {band.told(limit, format_length, SHORT)}"
            self.pen.text(*at, label, SMALL, anchor="middle", bold=True, halo=True)

    def ellipse(self, position: AxisPosition, dash=None):
        """The position's 95 % ellipse, where its covariance is known."""
        if position.covariance_um2 is None:
            return
        points = [self.point(front, up) for front, up in ellipse_points(position).tolist()]
        self.pen.polygon(points, stroke=self.pen.palette.accent, width=1.1, dash=dash)

    def move(self, start, end):
        """An arrow from mark to mark, stopping short of both."""
        length = hypot(end[0] - start[0], end[1] - start[1])
        if length <= 2 * MARK_CLEARANCE:
            return
        short = MARK_CLEARANCE / length
        step = ((end[0] - start[0]) * short, (end[1] - start[1]) * short)
        accent = self.pen.palette.accent
        self.pen.arrow(
            start[0] + step[0], start[1] + step[1], end[0] - step[0], end[1] - step[1], accent, 1.4
        )
