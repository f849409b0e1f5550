"""A blank dial to write readings on: an empty box at each clock position that is swept."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from shop.paper.drawing import SMALL, Pen, listed
from shop.paper.palettes import PRINT

WIDTH, HEIGHT = 148, 150
RADIUS = 44
BOX_WIDTH, BOX_HEIGHT = 38, 19
FINE = 7.5
# How far the middle of a box stands from the middle of the dial, sideways and upwards.
REACH_X, REACH_Y = 54, 52
TURN_RADIUS = 15


@dataclass(frozen=True)
class BlankDial:
    """One sweep's boxes, seen from the indicator's side.

    ``title`` is what is written in them, such as 'as found'; ``angles_deg`` are where they stand,
    clockwise from the top; ``front_at`` is the hand at which front lies, "" where none is.
    """

    title: str
    angles_deg: tuple[float, ...] = (0, 90, 180, 270)
    front_at: str = ""

    def drawing(self, palette=PRINT):
        pen = Pen(WIDTH, HEIGHT, palette)
        x, y = WIDTH / 2, (HEIGHT - 14) / 2
        pen.text(x, HEIGHT - 9, self.title, SMALL, anchor="middle", bold=True)
        pen.circle(x, y, RADIUS, stroke=palette.muted, width=0.8)
        self._axes(pen, x, y)
        for angle in self.angles_deg:
            self._box(pen, x, y, angle)
        return pen.drawing

    def _axes(self, pen, x, y):
        """The directions inside the circle, where no box hides them."""
        muted = pen.palette.muted
        pen.line(x - TURN_RADIUS, y, x + TURN_RADIUS, y, stroke=muted, width=0.7)
        pen.arrow(x, y - TURN_RADIUS, x, y + TURN_RADIUS, stroke=muted, width=0.7, head=4)
        pen.text(x + 3, y + TURN_RADIUS, "up", FINE, muted)
        for words, hand in self._sides():
            pen.text(x + hand * 3, y - 9, words, FINE, muted, "start" if hand > 0 else "end")

    def _sides(self):
        if not self.front_at:
            return ()
        front = 1 if self.front_at == "right" else -1
        return (("front", front), ("rear", -front))

    def _box(self, pen, x, y, angle):
        turn = radians(angle)
        middle = (x + REACH_X * sin(turn), y + REACH_Y * cos(turn))
        left, bottom = middle[0] - BOX_WIDTH / 2, middle[1] - BOX_HEIGHT / 2
        pen.rect(left, bottom, BOX_WIDTH, BOX_HEIGHT, fill=pen.palette.paper, line=0.9)
        label = f"{angle:g}°"
        pen.text(left + 2, bottom + BOX_HEIGHT - 7, label, 6, pen.palette.muted)

    def describe(self):
        """The picture in words."""
        return f"{self.title}: boxes at {listed(f'{angle:g}°' for angle in self.angles_deg)}."
