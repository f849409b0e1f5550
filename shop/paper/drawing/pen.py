"""A pen that draws on one reportlab drawing in the colours of one palette."""

from math import atan2, cos, hypot, pi, sin

from reportlab.graphics.shapes import (
    Circle,
    Drawing,
    Line,
    Polygon,
    PolyLine,
    Rect,
    String,
)

from shop.paper.fonts import BOLD, REGULAR, text_width
from shop.paper.fonts.scripts import printable

from .words import fitted

TEXT = 11
SMALL = 10
HALO = 2
ARROW_HEAD = 7


class Pen:
    """Coordinates are points from the lower left corner; colours default to the palette's ink."""

    def __init__(self, width, height, palette):
        self.drawing = Drawing(width, height, initialFontName=REGULAR, initialFontSize=TEXT)
        self.width, self.height = width, height
        self.palette = palette
        if palette.background is not None:
            self.rect(0, 0, width, height, fill=palette.background, stroke=None)

    def _add(self, shape):
        self.drawing.add(shape)

    def _stroke(self, stroke, width, dash):
        return {
            "strokeColor": self.palette.ink if stroke == "ink" else stroke,
            "strokeWidth": width,
            "strokeDashArray": list(dash) if dash else None,
        }

    def line(self, x1, y1, x2, y2, stroke="ink", width=1, dash=None):
        self._add(Line(x1, y1, x2, y2, **self._stroke(stroke, width, dash)))

    def polyline(self, points, stroke="ink", width=1, dash=None):
        if len(points) > 1:
            flat = [coordinate for point in points for coordinate in point]
            self._add(PolyLine(flat, **self._stroke(stroke, width, dash), fillColor=None))

    def polygon(self, points, fill=None, stroke="ink", width=1, dash=None):
        flat = [coordinate for point in points for coordinate in point]
        self._add(Polygon(flat, fillColor=fill, **self._stroke(stroke, width, dash)))

    def circle(self, x, y, radius, fill=None, stroke="ink", width=1, dash=None):
        self._add(Circle(x, y, radius, fillColor=fill, **self._stroke(stroke, width, dash)))

    def rect(self, x, y, width, height, fill=None, stroke="ink", line=1, dash=None, radius=0):
        style = self._stroke(stroke, line, dash)
        self._add(Rect(x, y, width, height, rx=radius, ry=radius, fillColor=fill, **style))

    def text(self, x, y, text, size=TEXT, colour=None, anchor="start", bold=False, halo=False):
        """One line of text; ``halo`` clears the paper behind it."""
        text = printable(text)
        if halo:
            self._clear(x, y, text, size, anchor, bold)
        font = BOLD if bold else REGULAR
        colour = colour or self.palette.ink
        self._add(
            String(x, y, text, fontName=font, fontSize=size, fillColor=colour, textAnchor=anchor)
        )

    def _clear(self, x, y, text, size, anchor, bold):
        width = text_width(text, size, bold)
        left = x - {"start": 0, "middle": width / 2, "end": width}[anchor]
        self.rect(
            left - HALO,
            y - 0.25 * size,
            width + 2 * HALO,
            1.2 * size,
            fill=self.palette.paper,
            stroke=None,
        )

    def fitted(self, x, y, text, width, **style):
        """One line of text, shortened to ``width`` when it is longer."""
        shown = fitted(text, width, style.get("size", TEXT), style.get("bold", False))
        self.text(x, y, shown, **style)

    def arrow(self, x1, y1, x2, y2, stroke="ink", width=1, dash=None, head=ARROW_HEAD):
        """A line with a filled head at its far end; too short a line gets no head."""
        length = hypot(x2 - x1, y2 - y1)
        if length < head:
            self.line(x1, y1, x2, y2, stroke, width, dash)
            return
        along = atan2(y2 - y1, x2 - x1)
        neck = (x2 - head * cos(along), y2 - head * sin(along))
        self.line(x1, y1, *neck, stroke, width, dash)
        side = head * 0.42
        across = (side * cos(along + pi / 2), side * sin(along + pi / 2))
        self.polygon(
            [
                (x2, y2),
                (neck[0] + across[0], neck[1] + across[1]),
                (neck[0] - across[0], neck[1] - across[1]),
            ],
            fill=self.palette.ink if stroke == "ink" else stroke,
            stroke=None,
        )
