"""Whether what is left over after a least-squares fit agrees with what was stated of a reading."""

from __future__ import annotations

import numpy as np
from scipy import special

# A scatter this improbable under the stated uncertainty means the statement is too small.
SCATTER_LEVEL = 0.95


def reading_uncertainty(
    residuals_um: np.ndarray, dof: int, stated_um: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The standard uncertainty of one reading of each of m fits, and its degrees of freedom.

    ``residuals_um`` (m, n) with ``dof`` degrees of freedom each, ``stated_um`` (m). The statement
    is believed unless the residuals scatter more than it allows (chi-square, 95 %): then, and
    where nothing is stated, they are used with their ``dof``. A believed statement has infinite
    degrees of freedom. With neither statement nor degrees the uncertainty is infinite with 0.
    """
    if dof == 0:
        known = stated_um > 0
        return np.where(known, stated_um, np.inf), np.where(known, np.inf, 0.0)
    squares = np.sum(residuals_um**2, axis=1)
    allowed = special.chdtri(dof, 1 - SCATTER_LEVEL) * stated_um**2
    believed = (stated_um > 0) & (squares <= allowed)
    u_reading = np.where(believed, stated_um, np.sqrt(squares / dof))
    return u_reading, np.where(believed, np.inf, float(dof))
