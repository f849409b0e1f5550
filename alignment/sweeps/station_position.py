"""Where one station stands by its checks: offset, tilt where it was measured, and how surely."""

from dataclasses import dataclass

import numpy as np

from alignment.geometry.measure.axis import PER_MM

from .measuring import worked_out


@dataclass(frozen=True, eq=False)
class StationPosition:
    """A station seen from its datum in the machine's frame: its place and, where it was
    measured, the lean of its axis.

    `covariance_um2` (2, 2) is of (front, up). `slopes` are (front, up) in µm per 100 mm away from
    the headstock, None where no tilt was measured; `covariance` (4, 4) is then of all four, else
    (2, 2).
    """

    front_um: float
    up_um: float
    covariance_um2: np.ndarray
    dof_u: float
    slopes: tuple[float, float] | None = None
    covariance: np.ndarray | None = None

    @property
    def measured(self):
        """(front, up), or with both slopes behind."""
        return (self.front_um, self.up_um, *(self.slopes or ()))


def position_of(offset, tilt=None):
    """The `Standing` of a station by its check of an offset and, if any, one of its tilt.

    An offset from several planes tells the tilt itself and goes before the other. Raises
    ValueError when the readings cannot be worked out.
    """
    return _turned(_in_dial(offset, tilt), offset.item.view)


@dataclass(frozen=True, eq=False)
class _Swept:
    """The same four figures, or two, of the swept centre in the dial's view."""

    figures: np.ndarray
    covariance: np.ndarray
    dof_u: float


def _turned(swept, view):
    signs = view.signs[: len(swept.figures)]
    figures = [float(figure) + 0.0 for figure in signs * swept.figures]
    covariance = np.outer(signs, signs) * swept.covariance
    return StationPosition(
        *figures[:2],
        covariance[:2, :2],
        swept.dof_u,
        slopes=tuple(figures[2:]) or None,
        covariance=covariance,
    )


def _in_dial(offset, tilt):
    outcome = worked_out(offset).outcome
    if outcome.axis is not None:
        return _on_axis(outcome.axis, offset.at_mm)
    mean = outcome.planes[0]
    centre = np.asarray(mean.covariance_um2)
    tilted = tilt and worked_out(tilt).outcome.axis
    if tilted is None:
        return _Swept(np.array([mean.right_um, mean.up_um]), centre, mean.dof_u)
    both = np.zeros((4, 4))
    both[:2, :2], both[2:, 2:] = centre, tilted.covariance[2:, 2:]
    slopes = (tilted.slope_right_um_per_100mm, tilted.slope_up_um_per_100mm)
    figures = np.array([mean.right_um, mean.up_um, *slopes])
    return _Swept(figures, both, min(mean.dof_u, tilted.dof_u))


def _on_axis(axis, at_mm):
    """An axis through several planes at the plane asked for, its middle unless one is."""
    reach = 0.0 if at_mm is None else (float(at_mm) - axis.z_ref_mm) / PER_MM
    carry = np.eye(4)
    carry[:2, 2:] = np.eye(2) * reach
    covariance = carry @ np.where(np.isfinite(axis.covariance), axis.covariance, 0.0) @ carry.T
    if not np.isfinite(axis.covariance).all():
        covariance = np.diag(np.full(4, np.inf))
    return _Swept(carry @ axis.parameters, covariance, axis.dof_u)
