"""A blank dial to write readings on: an empty box at each clock position that is swept."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from shop.paper.drawing import SMALL, Pen, listed
from shop.paper.palettes import PRINT

# Points; a box is 16 × 9 mm or larger, room for a greasy pen.
WIDTH = 152
BOX_WIDTH, BOX_HEIGHT = 46, 26
FINE = 7.5
LABEL = 7
# How far the middle of a box stands from the middle of the dial, sideways and upwards: more
# boxes than four need the height.
REACH_X, REACH_Y, REACH_Y_MANY = 52, 36, 92
TITLE_ROOM = 14
TURN_RADIUS = 12


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
        height = 2 * self.reach_y + BOX_HEIGHT + TITLE_ROOM + 4
        pen = Pen(WIDTH, height, palette)
        x, y = WIDTH / 2, (height - TITLE_ROOM) / 2
        pen.text(x, height - 9, self.title, SMALL, anchor="middle", bold=True)
        self._axes(pen, x, y)
        for angle in self.angles_deg:
            self._box(pen, x, y, angle)
        return pen.drawing

    @property
    def reach_y(self):
        return REACH_Y if len(self.angles_deg) <= 4 else REACH_Y_MANY

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
        middle = (x + REACH_X * sin(turn), y + self.reach_y * cos(turn))
        left, bottom = middle[0] - BOX_WIDTH / 2, middle[1] - BOX_HEIGHT / 2
        pen.rect(left, bottom, BOX_WIDTH, BOX_HEIGHT, fill=pen.palette.paper, line=0.9)
        self._label(pen, angle, left, bottom)

    def _label(self, pen, angle, left, bottom):
        """The clock position, outside the box: beside the top and bottom ones, above the others."""
        right, side = left + BOX_WIDTH, round(sin(radians(angle)), 6)
        if not side:
            up = bottom + BOX_HEIGHT - LABEL if cos(radians(angle)) > 0 else bottom + 2
            at, anchor = (right + 3, up), "start"
        else:
            at = (right if side > 0 else left, bottom + BOX_HEIGHT + 2)
            anchor = "end" if side > 0 else "start"
        pen.text(*at, f"{angle:g}°", LABEL, pen.palette.muted, anchor)

    def describe(self):
        """The picture in words."""
        return f"{self.title}: boxes at {listed(f'{angle:g}°' for angle in self.angles_deg)}."
