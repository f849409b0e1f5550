"""Checks on arrays shared by the geometry modules: each says what is wrong and what was expected,
in words a machinist understands. Decimals from the records become floats here."""

from __future__ import annotations

import numpy as np

# Farther than anything that is measured, and far from where squares and sums overflow.
LARGEST = 1e50


def finite_array(values, what: str, *, ndim: int = 1) -> np.ndarray:
    """``values`` as a float array of ``ndim`` dimensions; ValueError when it is none."""
    try:
        array = np.array(values, dtype=float)
    except (TypeError, ValueError):
        raise ValueError(f"The {what} must be numbers, and equally many in each row.") from None
    if array.ndim != ndim:
        shape = {1: "one row", 2: "rows of equal length"}[ndim]
        raise ValueError(f"The {what} must come as {shape} of numbers.")
    bad = np.argwhere(~np.isfinite(array))
    if bad.size:
        place = int(bad[0][-1]) + 1
        raise ValueError(f"The {what} must be finite numbers; number {place} is not.")
    if np.abs(array).max(initial=0.0) > LARGEST:
        raise ValueError(f"The {what} must be lengths that can be measured; one is far beyond.")
    return array
