"""The pictures of alignment: finished figures in, a reportlab drawing and a sentence out.

Each figure is a frozen dataclass with ``drawing(palette)`` and ``describe()``; nothing here asks
the database. Lengths are micrometres, shown through the formatter each figure is given.
"""

from .lines import LinesFigure, PlottedLine
from .polar import Band
from .positions import AxisPosition, ellipse_scale
from .series import Fan, IncidentMark, SeriesFigure, Tolerance, VisitValue
from .setup import SetupFigure
from .sweep import SweepFigure
from .track import TrackFigure, TrackVisit

__all__ = [
    "AxisPosition",
    "Band",
    "Fan",
    "IncidentMark",
    "LinesFigure",
    "PlottedLine",
    "SeriesFigure",
    "SetupFigure",
    "SweepFigure",
    "Tolerance",
    "TrackFigure",
    "TrackVisit",
    "VisitValue",
    "ellipse_scale",
]
