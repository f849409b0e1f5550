"""Where an axis lies: the finished figures a picture is made from, and how they are said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot, inf, log, sqrt

import numpy as np

from alignment.sheets.directions import place_shown

Lengths = Callable[[float], str]

# What the ellipse of an axis position covers.
COVERAGE = 0.95


@dataclass(frozen=True)
class AxisPosition:
    """A station's axis seen from its datum, in micrometres to the front and up.

    ``covariance_um2`` is the 2 × 2 covariance of (front, up); ``dof`` its degrees of freedom
    (None: known, not estimated). ``residuals`` are (angle in degrees, micrometres) pairs: what
    the readings leave over once the offset is taken out.
    """

    front_um: float
    up_um: float
    covariance_um2: tuple[tuple[float, float], tuple[float, float]] | None = None
    dof: float | None = None
    verdict: str = ""
    residuals: tuple[tuple[float, float], ...] = ()

    @property
    def offset_um(self) -> float:
        return hypot(self.front_um, self.up_um)

    @property
    def reach_um(self) -> float:
        """How far from the centre the position and its ellipse can extend."""
        return self.offset_um + self.half_axis_um

    @property
    def half_axis_um(self) -> float:
        """The longer half axis of the 95 % ellipse; 0 when no covariance is known."""
        if self.covariance_um2 is None:
            return 0.0
        return ellipse_scale(self.dof) * sqrt(max(np.linalg.eigvalsh(self.covariance_um2)))


def ellipse_scale(dof: float | None = None) -> float:
    """Half axes of the 95 % ellipse of a vector in the plane, in standard deviations.

    Known covariance: the chi-square quantile for two degrees of freedom is −2 ln(1 − p). With an
    estimated covariance, twice the F quantile (2, dof), which for two numerator degrees of freedom
    has the closed form used here (Hotelling's T² for one mean with the covariance pooled).
    """
    outside = 1 - COVERAGE
    if dof is None or dof == inf:
        return sqrt(-2 * log(outside))
    if dof <= 0:
        raise ValueError(f"An ellipse needs more than zero degrees of freedom, not {dof}.")
    return sqrt(dof * (outside ** (-2 / dof) - 1))


def ellipse_points(position: AxisPosition, count: int = 72) -> np.ndarray:
    """(count, 2) points of (front, up) in micrometres on the position's 95 % ellipse."""
    values, vectors = np.linalg.eigh(np.asarray(position.covariance_um2, dtype=float))
    half_axes = ellipse_scale(position.dof) * np.sqrt(np.clip(values, 0, None))
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    return np.array([position.front_um, position.up_um]) + (circle * half_axes) @ vectors.T


def said(position: AxisPosition, format_length: Lengths) -> str:
    """Size and both parts: '18.4 µm: 13.0 µm to the front, 13.0 µm down'."""
    size, told = format_length(position.offset_um), components(position, format_length)
    return f"{size}: {told}" if told else size


def components(position: AxisPosition, format_length: Lengths) -> str:
    """Both parts with their directions: '13.0 µm to the front, 13.0 µm down'; '' for none."""
    return place_shown(position.front_um, position.up_um, format_length)
