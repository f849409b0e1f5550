"""The picture of a machine, drawn from where its layout says that everything stands."""

from __future__ import annotations

from alignment.figures.state_marks import state_mark
from alignment.geometry.adjust.state import BEFORE_A_CRASH, NOT_MEASURED, STALE
from shop.paper.drawing import Pen

from .end_view import EndViewPen
from .figure import SIZES, MachineFigure
from .layout import BED, GUIDE, HEAD, MARK, PAD, SUB, TIPS, WORK, Rect

# How a block's outline tells its state beside mark and word: dash and width.
OUTLINES = {
    "outside": (None, 3),
    "not proven": ((7, 2), 2),
    BEFORE_A_CRASH: ((5, 3), 1.6),
    STALE: ((5, 3), 1.6),
    NOT_MEASURED: ((1.5, 3), 1.3),
}
AXIS_DASH = (12, 4, 2, 4)
HIDDEN = (4, 3)
NOSE = 12


def draw(figure: MachineFigure, size: str, palette):
    """The `Drawing` of a figure in one of SIZES."""
    form, layout = SIZES[size], figure.layout(size)
    pen = Pen(layout.width, layout.height, palette)
    if not figure.stations:
        pen.text(form.margin, layout.height / 2, "No station yet.", form.font)
        return pen.drawing
    machine = _Machine(pen, figure, form, layout)
    machine.draw()
    for cell in layout.cells:
        EndViewPen(pen, cell, form, figure.hand).draw()
    return pen.drawing


class _Machine:
    """The machine itself, seen by whoever stands at its front; layouts count y downwards."""

    def __init__(self, pen, figure, form, layout):
        self.pen, self.figure, self.form, self.layout = pen, figure, form, layout
        self.axis = pen.height - layout.axis
        self.away = 1 if figure.headstock_side == "left" else -1

    def draw(self):
        muted = self.pen.palette.muted
        left, right = self.form.margin / 2, self.pen.width - self.form.margin / 2
        self._belts()
        self._bed(left, right)
        self.pen.line(left, self.axis, right, self.axis, muted, 0.9, AXIS_DASH)
        self._bar()
        for block in self.layout.blocks:
            self._nose_or_tips(block)
        for block in self.layout.blocks:
            self._block(block)
        for block in self.layout.blocks:
            self._happened(block)

    def _bed(self, left, right):
        """The bed, and what each spindle stands on it with."""
        palette, top = self.pen.palette, self.pen.height - self.layout.bed
        self.pen.rect(left, top - BED, right - left, BED, palette.rule, stroke=None, radius=2)
        for block in self.layout.blocks:
            if block.station.kind in (HEAD, GUIDE, SUB):
                rect = block.rect
                foot = Rect(rect.x + rect.width * 0.12, rect.bottom, rect.width * 0.76, 0)
                height = self.pen.height - rect.bottom - top
                self.pen.rect(foot.x, top, foot.width, height, palette.band, stroke=None)

    def _bar(self):
        """The bar that is turned, from the headstock to where tools work."""
        columns = self.layout.columns
        start, end = columns[HEAD].middle[0], columns[WORK].middle[0]
        reach = (end - start) * 0.92
        fill = self.pen.palette.rule
        self.pen.rect(min(start, start + reach), self.axis - 3, abs(reach), 6, fill, None)

    def _box(self, rect: Rect, **style):
        self.pen.rect(rect.x, self.pen.height - rect.bottom, rect.width, rect.height, **style)

    def _block(self, block):
        palette, state = self.pen.palette, block.station.state
        dash, width = OUTLINES.get(state, (None, 1.4))
        stroke = palette.outside if state == "outside" else palette.ink
        fill = palette.faint if block.station.counts else palette.paper
        self._box(block.rect, fill=fill, stroke=stroke, line=width, dash=dash, radius=4)
        line, font = self.form.line, self.form.font
        rows = 1 + len(block.lines)
        x, middle = block.rect.middle
        y = self.pen.height - middle + rows * line / 2 - font
        self._badge(x, y + font * 0.36, block.station)
        for row, text in enumerate(block.lines, start=1):
            self.pen.text(x, y - row * line, text, font, anchor="middle")

    def _badge(self, x, y, station):
        """The mark of its state and its number, centred on (x, y)."""
        font = self.form.font
        state_mark(self.pen, station.state, x - font * 0.55, y, MARK)
        self.pen.text(x + font * 0.35, y - font * 0.36, f"{station.number}", font, bold=True)

    def _nose_or_tips(self, block):
        """What a body works with: a spindle's nose, a bush, the tools of a carrier."""
        kind, rect = block.station.kind, block.rect
        if kind in (HEAD, GUIDE):
            self._nose(rect, self.away)
        elif kind == SUB:
            self._nose(rect, -self.away)
        elif kind == "gang tools":
            self._tips_down(rect)
        elif kind == "turret":
            self._disc(rect)
        elif kind == "back tools":
            self._tips_along(rect)

    def _nose(self, rect, way):
        if abs(self.pen.height - rect.middle[1] - self.axis) > rect.height / 2:
            return
        height = min(rect.height * 0.34, 34)
        edge = rect.right if way > 0 else rect.x - NOSE
        palette = self.pen.palette
        self.pen.rect(edge, self.axis - height / 2, NOSE, height, palette.band, line=1.2, radius=2)

    def _tips_down(self, rect):
        y, count = self.pen.height - rect.bottom, max(2, int(rect.width // 26))
        step = rect.width / count
        for n in range(count):
            self._tip(rect.x + (n + 0.5) * step - 4, y - TIPS, 8, TIPS)

    def _disc(self, rect):
        """The lower half of a turret's disc, a tool in each of its faces."""
        x, y = rect.middle[0], self.pen.height - rect.bottom
        reach = min(rect.width * 0.3, TIPS * 1.6)
        for turn in (-0.3, 0.0, 0.3):
            self._tip(x + reach * turn * 2 - 3, y - TIPS, 6, TIPS)
        face = [(-1, 0), (-0.62, -0.55), (0.62, -0.55), (1, 0)]
        corners = [(x + reach * right, y + TIPS * up) for right, up in face]
        self.pen.polygon(corners, fill=self.pen.palette.band, width=1.2)

    def _tips_along(self, rect):
        count = 3
        step = rect.height / count
        x = rect.right if self.away > 0 else rect.x - TIPS
        for n in range(count):
            self._tip(x, self.pen.height - rect.bottom + (n + 0.5) * step - 4, TIPS, 8)

    def _tip(self, x, y, width, height):
        self.pen.rect(x, y, width, height, self.pen.palette.paper, line=1.1, radius=1)

    def _happened(self, block):
        """Where it was hit and that it was moved, above the body or, below the axis, under it."""
        station, rect = block.station, block.rect
        texts = [text for text in (station.hit, station.moved and f"moved {station.moved}") if text]
        if not texts:
            return
        palette, font = self.pen.palette, self.form.font
        below = rect.y > self.layout.axis
        row = -1 if below else 1
        y = self.pen.height - rect.bottom - font - 1 if below else self.pen.height - rect.y + 5
        for n, text in enumerate(reversed(texts)):
            colour = palette.outside if text == station.hit else palette.ink
            at = (self._inside(rect.middle[0], text), y + n * row * self.form.line)
            self.pen.text(*at, text, font, colour, "middle", bold=True, halo=True)
        if station.hit:
            self._bolt(rect)

    def _inside(self, x, text):
        """So far from the edges that a text centred there is not cut off."""
        half = len(text) * self.form.font * 0.3
        return min(max(x, half + 2), self.pen.width - half - 2)

    def _bolt(self, rect):
        """A jagged stroke on the corner that a crash comes from: the room where tools work."""
        towards = 1 if self.layout.columns[WORK].middle[0] > rect.middle[0] + 1 else -1
        x = rect.right if towards > 0 else rect.x
        y = self.pen.height - rect.y
        if rect.y > self.layout.axis:
            y = self.pen.height - rect.bottom + 22
        steps = ((8, 10), (-3, -4), (4, -6), (-8, -22))
        points = [(x + towards * right, y + up) for right, up in steps]
        self.pen.polyline(points, stroke=self.pen.palette.paper, width=6)
        self.pen.polyline(points, stroke=self.pen.palette.outside, width=3)

    def _belts(self):
        cover = self.layout.cover
        if cover is None:
            return
        muted = self.pen.palette.muted
        self._box(cover, stroke=muted, dash=HIDDEN, radius=6)
        shaft = self.pen.height - cover.bottom + 14
        self.pen.line(cover.x + 10, shaft, cover.right - 10, shaft, muted, 3)
        for belt, x in zip(self.figure.belts, self._places(cover), strict=True):
            self._belt(belt, x, shaft)
        for x, y, text in self.layout.notes:
            self._note(x, self.pen.height - y, text)

    def _places(self, cover):
        """Where along Z each belt runs: at the guide bushing what drives it, the rest behind the
        headstock."""
        guide = self.layout.columns[GUIDE]
        driven = [guide.width > 0 and "guide" in belt.drives for belt in self.figure.belts]
        others = driven.count(False)
        step = min(40, self.layout.columns[HEAD].width / (others + 1))
        back = cover.x if self.away > 0 else cover.right
        places, n = [], 0
        for at_guide in driven:
            n += not at_guide
            places.append(guide.middle[0] if at_guide else back + self.away * n * step)
        return places

    def _belt(self, belt, x, shaft):
        """A loop seen on its edge, from its pulley up to what it drives; thick where teeth are
        bad."""
        palette = self.pen.palette
        colour = palette.outside if belt.bad else palette.muted
        top = self.pen.height - self.layout.cover.y + 12
        for side in (-4, 4):
            dash = None if belt.bad else HIDDEN
            self.pen.line(x + side, shaft, x + side, top, colour, 2.4 if belt.bad else 1.3, dash)
        self.pen.rect(x - 7, shaft - 6, 14, 12, palette.paper, stroke=palette.muted, line=1.2)
        if belt.bad:
            state_mark(self.pen, "outside", x, shaft + 20, MARK)

    def _note(self, x, y, text):
        belt = next((one for one in self.figure.belts if one.words == text and one.bad), None)
        if belt:
            state_mark(self.pen, "outside", x + MARK / 2, y + self.form.font * 0.36, MARK - 2)
        colour = self.pen.palette.ink if belt else self.pen.palette.muted
        self.pen.text(
            x + (MARK + PAD) * bool(belt), y, text, self.form.font, colour, bold=bool(belt)
        )
