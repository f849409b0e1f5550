"""Vectors (right, up) in the indicator's view: clock position, and how surely they are known."""

from __future__ import annotations

import numpy as np


def clock_position(right, up):
    """The clock position in degrees, 0 to below 360, of the vector (right, up)."""
    clock = np.degrees(np.arctan2(right, up)) % 360
    return np.where(clock >= 360, 0.0, clock)[()]


def region_factor(dof_u, probability: float = 0.95):
    """k² such that (e − ê)ᵀ C⁻¹ (e − ê) ≤ k² holds with ``probability``, for a (2, 2) covariance.

    ``dof_u`` is the covariance's degrees of freedom, one number or an array. k² is twice the
    F quantile with 2 and ``dof_u`` degrees of freedom (chi-square with 2 when infinite), which
    has a closed form. Infinite when ``dof_u`` is 0. Source: the confidence ellipse of two
    estimates, as in any text on linear regression.
    """
    if not 0 < probability < 1:
        raise ValueError(f"A probability lies between 0 and 1, not at {probability}.")
    dof = np.asarray(dof_u, dtype=float)
    known = np.where((dof > 0) & np.isfinite(dof), dof, 1.0)
    from_residuals = known * np.expm1(-2 / known * np.log1p(-probability))
    factor = np.where(np.isinf(dof), -2 * np.log1p(-probability), from_residuals)
    return np.where(dof > 0, factor, np.inf)[()]


def scaled_covariance(spread, u_reading_um) -> np.ndarray:
    """u² times ``spread`` (k, k) for each of m uncertainties: (m, k, k).

    Where the uncertainty is infinite the diagonal is infinite and the rest zero.
    """
    u = np.asarray(u_reading_um, dtype=float)[..., None, None]
    known = np.isfinite(u)
    unknown = np.where(np.eye(len(spread), dtype=bool), np.inf, 0.0)
    return np.where(known, np.where(known, u, 0.0) ** 2 * spread, unknown)


def carried_covariance(effects, covariance) -> np.ndarray:
    """Covariance (j, j) of ``effects`` (j, k) times figures with ``covariance`` (k, k).

    An infinite variance among the k makes infinite, and uncorrelated, whatever depends on it.
    """
    unknown = ~np.isfinite(np.diagonal(covariance))
    usable = np.where(unknown[:, None] | unknown[None, :], 0.0, covariance)
    carried = effects @ usable @ effects.T
    hit = np.any(effects[:, unknown] != 0, axis=1)
    carried[hit, :], carried[:, hit] = 0.0, 0.0
    carried[hit, hit] = np.inf
    return carried


def size_uncertainty(vectors_um, covariance_um2, dof_u) -> np.ndarray:
    """Standard uncertainty of the size of m ``vectors_um`` (m, 2) with covariances (m, 2, 2).

    First order along the vector when it is clear of zero; otherwise the largest eigenvalue's
    root, since the size of a vector that may well be zero has no direction to propagate along
    (JCGM 100, 5.1.2, holds to first order only). ``dof_u`` (m) are the covariances' degrees of
    freedom. Infinite where the covariance is not finite.
    """
    vectors, covariance = np.asarray(vectors_um, float), np.asarray(covariance_um2, float)
    known = np.isfinite(covariance).all(axis=(-2, -1))
    usable = np.where(known[:, None, None], covariance, 0.0)
    size = np.linalg.norm(vectors, axis=-1)
    worst = np.sqrt(np.maximum(np.linalg.eigvalsh(usable)[:, -1], 0.0))
    along = vectors / np.where(size > 0, size, 1.0)[:, None]
    first_order = np.sqrt(np.maximum(np.einsum("mi,mij,mj->m", along, usable, along), 0.0))
    # Degrees of zero go with an unknown covariance, which is set aside below.
    factor = region_factor(np.where(np.asarray(dof_u) > 0, dof_u, 1.0))
    clear = size > np.sqrt(factor) * worst
    return np.where(known, np.where(clear, first_order, worst), np.inf)
