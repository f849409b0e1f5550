"""Marks that carry meaning by shape: verdicts, as found and as left, incidents."""

from math import sqrt

# ISO 22324 gives the colours; the shapes are the second way of telling them apart.
VERDICT_SHAPES = {"within": "circle", "outside": "square", "not proven": "triangle"}


def verdict_mark(pen, verdict, x, y, size):
    """Green circle, red square, or yellow triangle, centred on (x, y), ``size`` across.

    A verdict that is none of the three draws a short bar: nothing was decided.
    """
    half = size / 2
    shape = VERDICT_SHAPES.get(verdict)
    palette = pen.palette
    if shape == "circle":
        pen.circle(x, y, half, fill=palette.within, stroke=palette.ink, width=0.6)
    elif shape == "square":
        side = size * 0.92
        left, low = x - side / 2, y - side / 2
        pen.rect(left, low, side, side, fill=palette.outside, stroke=palette.ink, line=0.6)
    elif shape == "triangle":
        pen.polygon(_triangle(x, y, size), fill=palette.not_proven, width=0.6)
    else:
        pen.line(x - half * 0.7, y, x + half * 0.7, y, stroke=palette.muted, width=1.4)


def _triangle(x, y, size):
    """Corners of an upright triangle of side about ``size`` whose middle is (x, y)."""
    side, height = size * 1.1, size * 1.1 * sqrt(3) / 2
    low = y - height / 2
    return [(x - side / 2, low), (x + side / 2, low), (x, low + height)]


def position_mark(pen, x, y, filled, radius=4.5):
    """Where an axis or a value lies: an open ring as found, a filled dot as left."""
    fill = pen.palette.accent if filled else pen.palette.paper
    pen.circle(x, y, radius, fill=fill, stroke=pen.palette.accent, width=1.8)


def incident_mark(pen, x, y, size=9):
    """A solid downward wedge with its point at (x, y)."""
    half = size / 2
    pen.polygon(
        [(x, y), (x - half, y + size), (x + half, y + size)], fill=pen.palette.ink, stroke=None
    )
