"""Which figure of a sweep an acceptance sheet's line asks for."""

import math

from .sweep import SweepFit

OFFSET, TIR, RIGHT, UP = "offset", "tir", "right", "up"


def figure(fit: SweepFit, quantity: str) -> tuple[float, float]:
    """Return (value_um, u_um), the figure a sheet's line asks for and its standard uncertainty.

    quantity: "offset" is the size of the axis' offset, "tir" the total indicator reading, "right"
    and "up" the offset's parts with their sign. The TIR is the difference of two readings, so its
    uncertainty is that of one reading times the square root of two (GUM, JCGM 100:2008, 5.1.2).
    Raises ValueError for another quantity.
    """
    if quantity == OFFSET:
        return fit.offset_um, fit.u_offset_um
    if quantity == TIR:
        return fit.tir_um, math.sqrt(2) * fit.u_reading_um
    if quantity in (RIGHT, UP):
        index = (RIGHT, UP).index(quantity)
        value = (fit.right_um, fit.up_um)[index]
        return value, math.sqrt(fit.covariance_um2[index][index])
    raise ValueError(f"'{quantity}' is not a figure of a sweep; expected offset, tir, right or up.")
