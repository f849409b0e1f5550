"""Chance that an axis or a figure, known with a normal uncertainty, lies outside its tolerance.

Covariances are (M, c, c), or (M,) when each of c parts has that variance and none correlates.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from scipy import special

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)
_FAR = 8.0  # deviations off the centre from where the edge of the circle is nearly straight
_CERTAIN = 7.0  # deviations to the edge beyond which a chance is as good as 0 or 1
_MESH = 0.025  # deviations from one point of the table to the next


def outside_limits(mean, variance, lower, upper):
    """Chance that a normal figure lies below ``lower`` or above ``upper``; arrays broadcast.

    Source: JCGM 106:2012, 7.4 (conformance probability), as the complement.
    """
    deviation = np.sqrt(np.maximum(variance, 1e-300))
    return special.ndtr((lower - mean) / deviation) + special.ndtr((mean - upper) / deviation)


def outside_circle(mean, cov, radius):
    """Chance (M,) that a normal vector with ``mean`` (M, 2) lies farther out than ``radius``.

    With equal, uncorrelated parts it is a non-central chi-squared probability; otherwise it is
    integrated across the circle in the direction known best.
    """
    mean, cov = np.asarray(mean, float), np.asarray(cov, float)
    radius = np.broadcast_to(np.asarray(radius, float), mean.shape[:1])
    if cov.ndim == 1:
        return outside_round(np.hypot(mean[:, 0], mean[:, 1]), cov, radius)
    variance, axes = np.linalg.eigh(cov)
    along = np.einsum("mij,mi->mj", axes, mean)
    deviation = np.sqrt(np.maximum(variance, 1e-24 * radius[:, None] ** 2))
    return _outside_long(along, deviation, np.maximum(radius, 1e-300))


def outside_round(distance, variance, radius):
    """Equal, uncorrelated parts: a non-central chi-squared probability, good to 1e-4."""
    deviation = np.sqrt(np.maximum(variance, 1e-24 * radius**2 + 1e-300))
    off, edge = distance / deviation, radius / deviation
    chance = (off > edge).astype(float)
    near = np.abs(off - edge) < _CERTAIN
    far = near & (np.minimum(off, edge) > _FAR)
    near ^= far
    chance[near] = _from_table(off[near], edge[near])
    chance[far] = _far_off(off[far], edge[far])
    return chance


def _from_table(off, edge):
    """Straight lines between the exact figures, which root finding asks for by the million."""
    table = _round_table()
    row, column = off / _MESH, edge / _MESH
    i, j = row.astype(int), column.astype(int)
    row -= i
    column -= j
    corner = i * table.shape[1] + j
    flat = table.ravel()
    first = flat.take(corner) * (1 - column) + flat.take(corner + 1) * column
    corner += table.shape[1]
    second = flat.take(corner) * (1 - column) + flat.take(corner + 1) * column
    return first * (1 - row) + second * row


@cache
def _round_table():
    """Chance outside on a mesh of distance and radius in deviations, by the exact function."""
    mesh = np.arange(0, _FAR + _CERTAIN + 2 * _MESH, _MESH)
    off, edge = np.meshgrid(mesh, mesh, indexing="ij")
    table = (off > edge).astype(float)
    band = np.abs(off - edge) < _CERTAIN + 2 * _MESH
    table[band] = 1 - special.chndtr(edge[band] ** 2, 2, off[band] ** 2)
    return table


def _far_off(off, edge):
    """Non-central chi-squared tail far out: the modified signed root of the likelihood ratio.

    Barndorff-Nielsen (1986, from memory); against the exact figure it is good to 7e-5 here.
    """
    gap = off - edge
    safe = np.where(np.abs(gap) < 1e-6, 1e-6, gap)
    return special.ndtr(gap + np.log1p(safe / edge) / (2 * safe))


def _outside_long(mean, deviation, radius):
    """Gauss-Legendre over the angle on the circle, the narrower direction first."""
    first = np.clip((mean[:, 0] - _CERTAIN * deviation[:, 0]) / radius, -1, 1)
    last = np.clip((mean[:, 0] + _CERTAIN * deviation[:, 0]) / radius, -1, 1)
    start, end = np.arcsin(first), np.arcsin(last)
    half = (end - start) / 2
    angle = (start + end)[:, None] / 2 + half[:, None] * _NODES
    chord = radius[:, None] * np.cos(angle)
    away = (radius[:, None] * np.sin(angle) - mean[:, :1]) / deviation[:, :1]
    density = np.exp(-(away**2) / 2) / np.sqrt(2 * np.pi) / deviation[:, :1]
    across, spread = mean[:, 1:], deviation[:, 1:]
    inside = special.ndtr((chord - across) / spread) - special.ndtr((-chord - across) / spread)
    return np.clip(1 - half * ((density * chord * inside) @ _WEIGHTS), 0.0, 1.0)
