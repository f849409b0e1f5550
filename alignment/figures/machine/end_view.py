"""An end view: the ring of a tolerance, and the dot where an axis stands in it, far too large."""

from __future__ import annotations

from math import hypot

from alignment.figures.state_marks import state_mark

from .layout import MARK

# Beyond this many rings from the middle a dot is drawn at the edge, with an arrow's head.
FARTHEST = 1.42
DOT = 4.6


class EndViewPen:
    """Draws one cell of a layout, whose y counts downwards."""

    def __init__(self, pen, cell, form, hand):
        self.pen, self.cell, self.form, self.hand = pen, cell, form, hand
        self.station, self.view = cell.station, cell.station.view
        self.x, self.y = cell.centre[0], pen.height - cell.centre[1]

    def draw(self):
        self._rings()
        self._ways()
        if self.view is not None and self.view.was_measured:
            self._stand()
        self._text()

    def _rings(self):
        palette, ring = self.pen.palette, self.form.ring
        view, dash = self.view, None
        if view is None or view.ring_um is None:
            dash = (2, 3)
        self.pen.circle(self.x, self.y, ring, palette.faint, palette.ink, 1.5, dash)
        for across, up in ((1, 0), (0, 1)):
            self.pen.line(
                self.x - across * ring,
                self.y - up * ring,
                self.x + across * ring,
                self.y + up * ring,
                palette.rule,
                0.8,
            )
        if view is not None:
            self._limits(view)

    def _limits(self, view):
        """Straight lines where each way has limits of its own."""
        ring = self.form.ring
        for um in view.front_limits_um:
            if um is not None:
                x = self.x + self.hand * ring * um / view.reach_um
                self.pen.line(x, self.y - ring, x, self.y + ring, width=1.5)
        for um in view.up_limits_um:
            if um is not None:
                y = self.y + ring * um / view.reach_um
                self.pen.line(self.x - ring, y, self.x + ring, y, width=1.5)

    def _ways(self):
        """Front and rear at the lower corners, where a dot seldom stands."""
        muted, font = self.pen.palette.muted, self.form.font
        if self.view is not None and self.view.size_um is not None:
            return
        y = self.y - self.form.ring - font * 1.05
        for word, way in (("front", self.hand), ("rear", -self.hand)):
            anchor = "start" if way > 0 else "end"
            self.pen.text(self.x + way * 5, y, word, font, muted, anchor)

    @property
    def _colours(self):
        """(line, fill) of what stands there: hollow where it no longer counts."""
        palette = self.pen.palette
        if not self.station.counts:
            return palette.muted, palette.paper
        ink = palette.outside if self.station.state == "outside" else palette.ink
        return ink, ink

    def _stand(self):
        stroke, fill = self._colours
        if self.view.size_um is not None:
            share = min(abs(self.view.size_um) / self.view.reach_um, FARTHEST)
            radius = max(share * self.form.ring, 1.5)
            self.pen.circle(self.x, self.y, radius, None, stroke, 2.4, (4, 2))
            return
        right, up = self.view.place(self.hand)
        far = hypot(right, up)
        share = self.form.ring * (min(far, FARTHEST) / far if far else 1.0)
        x, y = self.x + right * share, self.y + up * share
        if far > FARTHEST:
            self.pen.arrow(self.x, self.y, x, y, stroke, 2.2, head=10)
            return
        self.pen.line(self.x, self.y, x, y, stroke, 2)
        self.pen.circle(x, y, DOT, fill, stroke, 1.8)

    def _text(self):
        pen, font, line = self.pen, self.form.font, self.form.line
        x, y = self.cell.text[0], pen.height - self.cell.text[1]
        state_mark(pen, self.station.state, x + MARK / 2, y + font * 0.36, MARK)
        for row, text in enumerate(self.cell.heading):
            pen.text(x + MARK + 5, y - row * line, text, font, bold=True)
        y -= len(self.cell.heading) * line
        for row, text in enumerate(self.cell.lines):
            pen.text(x, y - row * line, text, font)
