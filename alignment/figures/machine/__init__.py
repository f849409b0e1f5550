"""One picture of a machine: its stations along Z, what each is worth, where each axis stands."""

from .figure import KEY, SIZES, BeltMark, EndView, MachineFigure, StationMark

__all__ = ["KEY", "SIZES", "BeltMark", "EndView", "MachineFigure", "StationMark"]
