"""Several sweeps of the same setting taken together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

from alignment.geometry.vectors import clock_position, scaled_covariance, size_uncertainty

from .scatter import SCATTER_LEVEL
from .sweep import SweepFit


@dataclass(frozen=True, eq=False)
class RepeatedSweeps:
    """The mean centre of m repeated sweeps.

    ``scatter_um``: standard deviation of one sweep's centre in one direction, from the repeats
    (None for a single sweep). ``covariance_um2`` (2, 2) is of the mean, ``u_offset_um`` of its
    size; they follow from the sweeps' own covariances unless the repeats scatter more than those
    allow (chi-square, 95 %). ``dof_u``: degrees of freedom of whichever was used.
    """

    count: int
    right_um: float
    up_um: float
    offset_um: float
    clock_deg: float
    scatter_um: float | None
    covariance_um2: np.ndarray
    u_offset_um: float
    dof_u: float


def average_sweeps(sweeps: Sequence[SweepFit]) -> RepeatedSweeps:
    """The mean of one or more sweeps of the same surface; ValueError for none."""
    if not sweeps:
        raise ValueError("There is no sweep to take the mean of.")
    offsets = np.array([[sweep.right_um, sweep.up_um] for sweep in sweeps])
    covariances = np.stack([sweep.covariance_um2 for sweep in sweeps])
    right, up = offsets.mean(axis=0)
    covariance, dof_u = _covariance_of_mean(offsets, covariances, sweeps)
    u_offset = size_uncertainty([[right, up]], covariance[None], np.array([dof_u]))[0]
    return RepeatedSweeps(
        count=len(sweeps),
        right_um=float(right),
        up_um=float(up),
        offset_um=float(np.hypot(right, up)),
        clock_deg=float(clock_position(right, up)),
        scatter_um=_scatter(offsets),
        covariance_um2=covariance,
        u_offset_um=float(u_offset),
        dof_u=dof_u,
    )


def _scatter(offsets: np.ndarray) -> float | None:
    if len(offsets) < 2:
        return None
    misses = offsets - offsets.mean(axis=0)
    return float(np.sqrt(np.sum(misses**2) / (2 * (len(offsets) - 1))))


def _covariance_of_mean(offsets, covariances, sweeps) -> tuple[np.ndarray, float]:
    count = len(offsets)
    if count == 1:
        return covariances[0], sweeps[0].dof_u
    if np.isfinite(covariances).all() and _scatter_is_allowed(offsets, covariances):
        return covariances.sum(axis=0) / count**2, float(sum(s.dof_u for s in sweeps))
    u_mean = _scatter(offsets) / np.sqrt(count)
    return scaled_covariance(np.eye(2), np.array([u_mean]))[0], 2.0 * (count - 1)


def _scatter_is_allowed(offsets, covariances) -> bool:
    if np.any(np.linalg.eigvalsh(covariances) <= 0):
        return False
    misses = offsets - offsets.mean(axis=0)
    distance = np.einsum("mi,mij,mj->", misses, np.linalg.inv(covariances), misses)
    return bool(distance <= special.chdtri(2 * (len(offsets) - 1), 1 - SCATTER_LEVEL))
