"""Drawing shared by the figures: pen, marks, scales, words, and the ways out (SVG, PDF)."""

from .marks import VERDICT_SHAPES, incident_mark, position_mark, verdict_mark
from .pen import SMALL, TEXT, Pen
from .scales import date_label, date_ticks, nice_step, ticks
from .svg import shapes, to_flowable, to_svg
from .words import abridged, fitted, listed, wrapped

__all__ = [
    "SMALL",
    "TEXT",
    "VERDICT_SHAPES",
    "Pen",
    "abridged",
    "date_label",
    "date_ticks",
    "fitted",
    "incident_mark",
    "listed",
    "nice_step",
    "position_mark",
    "shapes",
    "ticks",
    "to_flowable",
    "to_svg",
    "verdict_mark",
    "wrapped",
]
