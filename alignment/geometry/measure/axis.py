"""The axis of a bore, spindle or bar from sweeps in two or more planes along it.

Along the axis of rotation z counts positive away from the indicator's spindle, so that an axis
with a positive slope to the right stands further to the right the further away it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special
from scipy.linalg import block_diag

from alignment.geometry.arrays import finite_array
from alignment.geometry.gls import least_squares
from alignment.geometry.vectors import carried_covariance, clock_position, size_uncertainty

from .scatter import SCATTER_LEVEL
from .sweep import SweepFit

PER_MM = 100.0  # slopes are per this length
SAME_PLANE_MM = 1e-6


@dataclass(frozen=True, eq=False)
class AxisPoint:
    """Where the axis passes one plane: ``covariance_um2`` (2, 2) is of (right, up)."""

    z_mm: float
    right_um: float
    up_um: float
    offset_um: float
    clock_deg: float
    covariance_um2: np.ndarray
    u_offset_um: float
    dof_u: float


@dataclass(frozen=True, eq=False)
class Axis:
    """A straight axis near the axis of rotation.

    ``parameters`` (4): right, up at ``z_ref_mm`` in µm, slope right, slope up in µm per 100 mm,
    with ``covariance`` (4, 4) in the same order and units, infinite on its diagonal where it is
    unknown. ``dof_u``: degrees of freedom of the covariance.
    """

    z_ref_mm: float
    parameters: np.ndarray
    covariance: np.ndarray
    dof_u: float

    @property
    def slope_right_um_per_100mm(self) -> float:
        return float(self.parameters[2])

    @property
    def slope_up_um_per_100mm(self) -> float:
        return float(self.parameters[3])

    def at(self, z_mm) -> AxisPoint:
        """The axis at the plane ``z_mm``, measured or not; ValueError unless it is finite."""
        z = float(finite_array([z_mm], "plane")[0])
        reach = (z - self.z_ref_mm) / PER_MM
        transfer = np.hstack([np.eye(2), reach * np.eye(2)])
        right, up = transfer @ self.parameters
        covariance = carried_covariance(transfer, self.covariance)
        u_offset = size_uncertainty([[right, up]], covariance[None], np.array([self.dof_u]))[0]
        return AxisPoint(
            z_mm=z,
            right_um=float(right),
            up_um=float(up),
            offset_um=float(np.hypot(right, up)),
            clock_deg=float(clock_position(right, up)),
            covariance_um2=covariance,
            u_offset_um=float(u_offset),
            dof_u=self.dof_u,
        )


@dataclass(frozen=True, eq=False)
class AxisFit(Axis):
    """An axis fitted to p swept planes.

    ``residuals_um`` (p, 2): swept centres off the axis, right and up, all zero with two planes.
    ``bow_um``: the largest of them in size, None with two planes. ``dof`` = 2p − 4.
    """

    z_mm: np.ndarray
    residuals_um: np.ndarray
    bow_um: float | None
    dof: int


def fit_axis(z_mm, sweeps: Sequence[SweepFit]) -> AxisFit:
    """The axis through the centres of ``sweeps`` (p) taken at the planes ``z_mm`` (p), p ≥ 2.

    All sweeps are seen in the same view. Each counts by the inverse of its covariance (all alike
    when one is unknown or zero). With three planes or more, a bow that the covariances do not
    allow (chi-square, 95 %) widens the result's covariance accordingly. The reference plane is
    the middle of the planes. Raises ValueError for fewer than two planes, two planes at the same
    z, or unequal numbers of planes and sweeps.
    """
    z = _planes(z_mm, len(sweeps))
    centres = np.array([[sweep.right_um, sweep.up_um] for sweep in sweeps])
    stated = block_diag(*(_finite_part(sweep.covariance_um2) for sweep in sweeps))
    z_ref = float(z.mean())
    design = np.kron(np.column_stack([np.ones(len(z)), (z - z_ref) / PER_MM]), np.eye(2))
    weighted = bool(np.linalg.eigvalsh(stated)[0] > 0)
    solved = least_squares(design, centres.ravel(), stated if weighted else None)
    known = all(np.isfinite(sweep.covariance_um2).all() for sweep in sweeps)
    inverse = np.linalg.pinv(design)
    covariance = solved.unscaled_covariance if weighted else inverse @ stated @ inverse.T
    scale, bow_speaks = _bow_scale(solved, weighted)
    residuals = (centres.ravel() - design @ solved.estimate).reshape(-1, 2)
    dof_u = float(min(sweep.dof_u for sweep in sweeps)) if known else 0.0
    return AxisFit(
        z_ref_mm=z_ref,
        parameters=solved.estimate,
        covariance=covariance * scale if known else np.diag(np.full(4, np.inf)),
        dof_u=min(dof_u, solved.dof) if bow_speaks else dof_u,
        z_mm=z,
        residuals_um=residuals,
        bow_um=float(np.linalg.norm(residuals, axis=1).max()) if len(z) > 2 else None,
        dof=solved.dof,
    )


def _planes(z_mm, count: int) -> np.ndarray:
    z = finite_array(z_mm, "planes")
    if len(z) != count:
        raise ValueError(f"There are {len(z)} planes but {count} sweeps; each plane needs one.")
    if len(z) < 2:
        raise ValueError("An axis needs sweeps in at least two planes; with one there is no tilt.")
    ordered = np.sort(z)
    if np.any(np.diff(ordered) < SAME_PLANE_MM):
        twice = ordered[np.argmin(np.diff(ordered))]
        raise ValueError(
            f"Two sweeps stand at the same plane, z = {twice:g} mm; the planes must differ."
        )
    return z


def _finite_part(covariance: np.ndarray) -> np.ndarray:
    return np.where(np.isfinite(covariance), covariance, 0.0)


def _bow_scale(solved, weighted: bool) -> tuple[float, bool]:
    """By what the covariance grows for the planes' scatter, and whether it grows at all."""
    if not weighted or solved.dof == 0:
        return 1.0, False
    if solved.residual_sum <= special.chdtri(solved.dof, 1 - SCATTER_LEVEL):
        return 1.0, False
    return float(solved.residual_sum / solved.dof), True
