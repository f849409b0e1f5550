"""The mark of each state of a check or a station: a shape of its own beside its word."""

from __future__ import annotations

from math import cos, pi, sin

from reportlab.lib.colors import black

from alignment.geometry.adjust.state import BEFORE_A_CRASH, NOT_MEASURED, STALE
from shop.paper.drawing import VERDICT_SHAPES, verdict_mark

MASTER = "datum"
NO_LIMIT = "no limit on record"
# A verdict keeps its own shape; the other states have one each, so that none goes by colour.
STATE_SHAPES = {
    **VERDICT_SHAPES,
    BEFORE_A_CRASH: "wedge with a stroke",
    STALE: "half-filled ring",
    NOT_MEASURED: "broken ring",
    NO_LIMIT: "bar",
    MASTER: "ring with a cross",
}


def state_mark(pen, state, x, y, size):
    """The mark of a state, centred on (x, y), ``size`` across.

    Raises ValueError for a word that is no state: a mark that says nothing misleads.
    """
    if state not in STATE_SHAPES:
        raise ValueError(f"'{state}' is no state, expected one of: {', '.join(STATE_SHAPES)}.")
    if state in VERDICT_SHAPES:
        verdict_mark(pen, state, x, y, size)
        _sign(pen, state, x, y, size)
    else:
        _OTHERS[state](pen, x, y, size / 2)


def _sign(pen, state, x, y, size):
    """A tick, a cross or a question mark on the shape."""
    arm, paper = size * 0.22, pen.palette.paper
    if state == "within":
        tick = [(x - arm * 1.2, y), (x - arm * 0.2, y - arm), (x + arm * 1.3, y + arm)]
        pen.polyline(tick, stroke=paper, width=size * 0.13)
    elif state == "outside":
        for way in (1, -1):
            pen.line(x - arm, y - way * arm, x + arm, y + way * arm, paper, size * 0.13)
    else:
        pen.text(x, y - size * 0.38, "?", size * 0.72, black, "middle", bold=True)


def _wedge(pen, x, y, half):
    """Downwards, as an incident is marked, and hollow: what it was before no longer counts."""
    corners = [(x, y - half), (x - half, y + half * 0.8), (x + half, y + half * 0.8)]
    pen.polygon(corners, fill=pen.palette.paper, width=1.6)
    pen.line(x, y + half * 0.5, x, y - half * 0.25, width=1.6)


def _half_ring(pen, x, y, half):
    pen.circle(x, y, half * 0.9, fill=pen.palette.paper, width=1.6)
    turns = [pi / 2 + pi * n / 10 for n in range(11)]
    pen.polygon(
        [(x + half * 0.9 * cos(t), y + half * 0.9 * sin(t)) for t in turns], pen.palette.ink
    )


def _broken_ring(pen, x, y, half):
    pen.circle(x, y, half * 0.9, fill=pen.palette.paper, width=1.4, dash=(2.2, 2))


def _bar(pen, x, y, half):
    pen.line(x - half * 0.8, y, x + half * 0.8, y, width=2)


def _target(pen, x, y, half):
    pen.circle(x, y, half * 0.6, width=1.4)
    pen.line(x - half, y, x + half, y, width=1.2)
    pen.line(x, y - half, x, y + half, width=1.2)


_OTHERS = {
    BEFORE_A_CRASH: _wedge,
    STALE: _half_ring,
    NOT_MEASURED: _broken_ring,
    NO_LIMIT: _bar,
    MASTER: _target,
}
