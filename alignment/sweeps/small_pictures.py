"""A machine in miniature, for rows of a list: its stations in their places, by shape and colour.

The large drawing's layout, shrunk; a page draws it inline, so that the style sheet colours it and a
row costs no request of its own.
"""

from dataclasses import dataclass

from alignment.figures.machine import MachineFigure
from alignment.figures.machine.layout import Rect
from alignment.figures.state_marks import MASTER

from .machine_pictures import machine_figures

# The states in the order they are told, and how each is counted.
TOLD = ("outside", "before the crash", "stale", "not proven", "not measured")


@dataclass(frozen=True)
class SmallPicture:
    """``blocks``: (what stands there, its rectangle) of each station; ``says``: what asks for
    something, in words."""

    width: float
    height: float
    axis: float
    blocks: tuple[tuple[str, Rect], ...]
    says: str


def small_pictures(machines, unit="mm"):
    """Machine pk to its `SmallPicture` today; a fixed number of queries however many machines."""
    figures = machine_figures(machines, unit)
    return {pk: small(figure) for pk, figure in figures.items() if figure.stations}


def small(figure: MachineFigure):
    layout = figure.layout("narrow-plain")
    blocks = tuple((block.station.state, block.rect) for block in layout.blocks)
    return SmallPicture(layout.width, layout.bed + 8, layout.axis, blocks, says(figure))


def says(figure):
    """Such as "1 outside, 2 not measured"; "all within" where nothing asks for anything."""
    states = [one.state for one in figure.stations if one.state != MASTER]
    told = [f"{states.count(state)} {state}" for state in TOLD if state in states]
    return ", ".join(told) or ("all within" if "within" in states else "no limits on record")
