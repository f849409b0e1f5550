"""How a station is set up, as a sketch from the side: who holds the indicator, where it looks."""

from __future__ import annotations

from dataclasses import dataclass

from shop.paper.drawing import SMALL, Pen
from shop.paper.palettes import LIGHT

WIDTH, HEIGHT = 240, 104
AXIS = 58  # height of the common axis
BLOCK = 66
BORE = 15  # half the width of a swept bore
DIAL = 8
WORDS = {
    "in-datum": "The datum holds the indicator, which sweeps the bore of this station.",
    "in-station": "This station holds the indicator, which sweeps the bore of the datum.",
    "away": "The indicator's back is to the headstock; it looks away from it.",
    "towards": "The indicator faces the headstock and looks towards it.",
}


@dataclass(frozen=True)
class SetupFigure:
    """One choice, by its name in WORDS; another name raises ValueError."""

    choice: str

    def __post_init__(self):
        if self.choice not in WORDS:
            raise ValueError(f"There is no drawing {self.choice!r}; expected one of {[*WORDS]}.")

    def drawing(self, palette=LIGHT):
        pen = Pen(WIDTH, HEIGHT, palette)
        pen.line(6, AXIS, WIDTH - 6, AXIS, stroke=palette.rule, dash=(8, 3, 2, 3))
        if self.choice.startswith("in-"):
            self._holder(pen, in_datum=self.choice == "in-datum")
        else:
            self._look(pen, away=self.choice == "away")
        return pen.drawing

    @staticmethod
    def _holder(pen, in_datum):
        left, right = 12, WIDTH - 12 - BLOCK
        for x, name, holds in ((left, "datum", in_datum), (right, "this station", not in_datum)):
            _held(pen, x) if holds else _swept(pen, x)
            pen.text(x + BLOCK / 2, 8, name, SMALL, anchor="middle", bold=True)
        start, end = (left + BLOCK, right + 20) if in_datum else (right, left + BLOCK - 20)
        _indicator(pen, start, end)

    @staticmethod
    def _look(pen, away):
        _held(pen, 12)
        pen.text(12 + BLOCK / 2, 8, "headstock", SMALL, anchor="middle", bold=True)
        back, front = (104, 214) if away else (214, 104)
        way = 1 if away else -1
        pen.rect(min(back, back + way * 18), AXIS - 14, 18, 28, fill=pen.palette.band)
        pen.circle(back + way * 30, AXIS, DIAL + 3, fill=pen.palette.paper, width=1.6)
        pen.line(back + way * 30, AXIS, back + way * 34, AXIS + 6, width=1.6)
        pen.arrow(back + way * 46, AXIS, front, AXIS, stroke=pen.palette.accent, width=3, head=13)

    def describe(self):
        """The picture in words."""
        return WORDS[self.choice]


def _held(pen, x):
    """A solid block with its axis: it turns with the indicator."""
    pen.rect(x, AXIS - 32, BLOCK, 64, fill=pen.palette.band)
    pen.line(x, AXIS, x + BLOCK, AXIS, stroke=pen.palette.rule, dash=(8, 3, 2, 3))


def _swept(pen, x):
    """A block cut open along its bore, the swept wall drawn heavy."""
    for low in (AXIS - 32, AXIS + BORE):
        pen.rect(x, low, BLOCK, 32 - BORE, fill=pen.palette.band)
    for wall in (AXIS - BORE, AXIS + BORE):
        pen.line(x, wall, x + BLOCK, wall, stroke=pen.palette.accent, width=3)


def _indicator(pen, start, end):
    """An indicator on an arm from ``start``, its plunger up against the wall at ``end``."""
    pen.line(start, AXIS, end, AXIS, width=3)
    pen.circle(end, AXIS - 2, DIAL, fill=pen.palette.paper, width=1.6)
    pen.line(end, AXIS - 2, end + 4, AXIS + 3, width=1.4)
    pen.line(end, AXIS + DIAL - 2, end, AXIS + BORE - 1, width=2)
