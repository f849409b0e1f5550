"""Checks on numbers shared by the engineering modules: each says what is wrong and what was
expected, in words a machinist understands. Decimals from the records become floats here."""

from __future__ import annotations

import math

# No figure of a machine, in any unit used here, is larger than this, nor smaller without being
# nought; within these bounds no product of a few overflows.
_LARGEST = 1e12
_SMALLEST = 1e-12


def finite(value, what: str) -> float:
    """``value`` as a float; ValueError when it is not a finite number, or beyond all machines."""
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise ValueError(f"{what} must be a number, not {value!r}.") from None
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise ValueError(f"{what} must be a finite number, not {number}.")
    if abs(number) > _LARGEST:
        raise ValueError(f"{what} must be at most {_LARGEST:,.0f}, not {number:g}.")
    return number


def positive(value, what: str, unit: str = "") -> float:
    """``value`` as a float above zero; ValueError otherwise."""
    number = finite(value, what)
    if number <= 0:
        raise ValueError(f"{what} must be more than zero, not {_shown(number, unit)}.")
    if number < _SMALLEST:
        raise ValueError(f"{what} must be at least {_SMALLEST:g}, not {_shown(number, unit)}.")
    return number


def not_negative(value, what: str, unit: str = "") -> float:
    """``value`` as a float of zero or more; ValueError otherwise. Next to nought is nought."""
    number = finite(value, what)
    if number < 0:
        raise ValueError(f"{what} cannot be negative: {_shown(number, unit)} was given.")
    return number if number >= _SMALLEST else 0.0


def between_zero_and_one(value, what: str) -> float:
    """``value`` as a float strictly between 0 and 1; ValueError otherwise."""
    number = finite(value, what)
    if not 0 < number < 1:
        raise ValueError(f"{what} must lie between 0 and 1, not {number:g}.")
    return number


def whole(value, what: str, least: int) -> int:
    """``value`` as an int of at least ``least``; ValueError otherwise."""
    number = finite(value, what)
    if number != int(number):
        raise ValueError(f"{what} must be a whole number, not {value}.")
    if number < least:
        raise ValueError(f"{what} must be at least {least}, not {int(number)}.")
    return int(number)


def _shown(number: float, unit: str) -> str:
    return f"{number:g} {unit}".strip()
