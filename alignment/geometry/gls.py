"""Generalised least squares, solved for many problems in one call.

The solver orthogonalises the whitened columns (modified Gram-Schmidt, each column passed over
twice) instead of forming normal equations, which would lose half of the digits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class LeastSquares:
    """What a fit gives. ``...`` stands for the leading axes of the problem, one fit for each.

    ``estimate`` (..., p); ``unscaled_covariance`` (..., p, p), the covariance of the estimate if
    the stated covariance of the observations is taken at its word; ``residual_sum`` (...), the
    weighted sum of squared residuals; ``dof``, observations less parameters.
    """

    estimate: np.ndarray
    unscaled_covariance: np.ndarray
    residual_sum: np.ndarray
    dof: int


def least_squares(design, observed, covariance=None) -> LeastSquares:
    """Fit ``observed = design @ parameters + error`` by generalised least squares.

    ``design`` (..., n, p), ``observed`` (..., n), ``covariance`` of the errors: None for equal
    and independent, (..., n) for variances, (..., n, n) for a full matrix. Raises ValueError when
    shapes do not fit, when there are fewer observations than parameters, when the covariance is
    not positive definite or when the columns of the design do not differ.

    Source of the method: Aitken (1935), weighting by the inverse covariance; checked against the
    certified values of the NIST Statistical Reference Datasets.
    """
    design, observed = np.asarray(design, float), np.asarray(observed, float)
    if design.ndim < 2 or design.shape[:-1] != observed.shape:
        raise ValueError(
            f"The design has shape {design.shape} and the observations {observed.shape}: "
            "expected (..., n, p) and (..., n)."
        )
    n, p = design.shape[-2:]
    if n < p:
        raise ValueError(f"{n} observations cannot settle {p} parameters.")
    design, observed = _whiten(design, observed, covariance)
    columns = np.moveaxis(design, (-1, -2), (0, 1))
    upper, projected, left_over = orthogonalise(columns, np.moveaxis(observed, -1, 0)[None])
    if not np.all(np.moveaxis(np.diagonal(upper), -1, 0) > 0):
        raise ValueError("Two columns of the design say the same, so they cannot be told apart.")
    estimate, root = back_substitute(upper, projected)
    return LeastSquares(
        np.moveaxis(estimate[:, 0], 0, -1),
        np.moveaxis(_outer(root), (0, 1), (-2, -1)),
        (left_over**2).sum(axis=(0, 1)),
        n - p,
    )


def orthogonalise(columns: np.ndarray, responses: np.ndarray):
    """Split whitened columns (p, n, ...) and responses (m, n, ...) into Q and R.

    Returns the upper triangle R (p, p, ...), the responses along Q (p, m, ...) and what is left
    of the responses (m, n, ...). A column that is nothing but the ones before it gets a zero on
    the diagonal. Rows of zeros, used to pad series to one length, change nothing.
    """
    p, n = columns.shape[:2]
    upper = np.zeros((p, p, *columns.shape[2:]))
    projected = np.zeros((p, len(responses), *columns.shape[2:]))
    basis = np.empty_like(columns)
    left_over = responses.copy()
    for j in range(p):
        size = np.sqrt((columns[j] ** 2).sum(axis=0))
        basis[j] = _pass_twice(columns[j], basis[:j], upper[:j, j])
        length = np.sqrt((basis[j] ** 2).sum(axis=0))
        upper[j, j] = np.where(length > 4 * n * np.finfo(float).eps * size, length, 0.0)
        basis[j] *= _reciprocal(upper[j, j])
        projected[j] = (basis[j] * left_over).sum(axis=1)
        left_over -= basis[j] * projected[j][:, None]
    return upper, projected, left_over


def back_substitute(upper: np.ndarray, projected: np.ndarray):
    """Solve R x = projected. Returns x (p, m, ...) and the inverse of R (p, p, ...).

    A zero on the diagonal of R gives zeros in the answer: nothing is known there.
    """
    p = len(upper)
    solution, inverse = np.zeros_like(projected), np.zeros_like(upper)
    for i in reversed(range(p)):
        scale = _reciprocal(upper[i, i])
        above = (upper[i, i + 1 :, None] * solution[i + 1 :]).sum(axis=0)
        solution[i] = (projected[i] - above) * scale
        inverse[i, i] = scale
        for j in range(i + 1, p):
            inverse[i, j] = -(upper[i, i + 1 :] * inverse[i + 1 :, j]).sum(axis=0) * scale
    return solution, inverse


def _pass_twice(column, basis, coefficients):
    """Take the basis out of the column, twice: one pass leaves rounding along it."""
    rest = column.copy()
    for _ in range(2):
        for i, direction in enumerate(basis):
            along = (direction * rest).sum(axis=0)
            rest -= direction * along
            coefficients[i] += along
    return rest


def _reciprocal(values):
    return np.divide(1.0, values, out=np.zeros_like(values), where=values > 0)


def _outer(root):
    """R⁻¹ R⁻ᵀ for ``root`` (p, p, ...)."""
    return np.einsum("ij...,kj...->ik...", root, root)


def _whiten(design, observed, covariance):
    """Divide both by the square root of the covariance."""
    if covariance is None:
        return design, observed
    covariance = np.asarray(covariance, float)
    if covariance.shape == observed.shape:
        if not np.all(covariance > 0):
            raise ValueError("Every variance has to be more than zero.")
        root = np.sqrt(covariance)
        return design / root[..., None], observed / root
    if covariance.shape != (*observed.shape, observed.shape[-1]):
        raise ValueError(
            f"The covariance has shape {covariance.shape}: expected {observed.shape} for "
            f"variances or {(*observed.shape, observed.shape[-1])} for a full matrix."
        )
    try:
        root = np.linalg.cholesky(covariance)
    except np.linalg.LinAlgError:
        raise ValueError("The covariance is not positive definite.") from None
    both = np.linalg.solve(root, np.concatenate([design, observed[..., None]], axis=-1))
    return both[..., :-1], both[..., -1]
