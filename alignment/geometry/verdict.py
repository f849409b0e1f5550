"""What may be said about a figure and its limits, given how surely the figure is known.

Decision rule: ISO 14253-1. A figure is within when it stays inside the limits by the expanded
uncertainty U = k·u, outside when it is past them by U, and not proven in between.
Probabilities: JCGM 106:2012, 7.4, for a normally distributed figure.
"""

from __future__ import annotations

import math
from enum import StrEnum

from scipy import special

from machines.engineering.inputs import finite, positive

# Two standard deviations of the normal distribution, which is what k = 2 stands for.
USUAL_PROBABILITY = 0.9545

# From here on Student's t is the normal distribution to more digits than anybody reads.
COUNTLESS = 1e9


class Verdict(StrEnum):
    """The word for a check, which is also its value."""

    WITHIN = "within"
    OUTSIDE = "outside"
    NOT_PROVEN = "not proven"


def decide(
    value_um, u_um, upper_um, lower_um=None, k: float = 2.0, *, signed: bool = False
) -> Verdict:
    """The verdict on ``value_um`` with standard uncertainty ``u_um``; any one unit will do.

    Either limit may be None. A figure on a limit of the guard band counts as within or not
    proven, never as outside. An unknown uncertainty (None, infinite or NaN) and an infinite ``k``
    prove nothing. Raises ValueError for a value that is not finite, a negative uncertainty, no
    limit at all, an upper limit not above the lower, or a lone upper limit of zero or less, which
    is no tolerance for a size; ``signed`` allows it, for a figure that may only be low.
    """
    value = finite(value_um, "The measured figure")
    upper, lower = _limits(upper_um, lower_um, signed=signed)
    u = _uncertainty(u_um)
    factor = math.inf if k == math.inf else positive(k, "The coverage factor")
    if math.isinf(u) or math.isinf(factor):
        return Verdict.NOT_PROVEN
    if value > upper + factor * u or value < lower - factor * u:
        return Verdict.OUTSIDE
    if lower + factor * u <= value <= upper - factor * u:
        return Verdict.WITHIN
    return Verdict.NOT_PROVEN


def probability_within(value_um, u_um, upper_um=None, lower_um=None) -> float | None:
    """The probability that the true figure lies within the limits; None when ``u_um`` is unknown.

    Normal distribution about ``value_um`` (JCGM 106:2012, 7.4). With ``u_um`` of zero it is 1
    or 0. Raises ValueError as ``decide`` does, except that any lone limit is taken.
    """
    value = finite(value_um, "The measured figure")
    upper, lower = _limits(upper_um, lower_um, signed=True)
    u = _uncertainty(u_um)
    if not math.isfinite(u):
        return None
    if u == 0:
        return float(lower <= value <= upper)
    return float(special.ndtr((upper - value) / u) - special.ndtr((lower - value) / u))


def coverage_factor(dof: float, probability: float = USUAL_PROBABILITY) -> float:
    """The factor k from Student's t for ``dof`` effective degrees of freedom.

    A broken number of degrees is cut to the whole number below (JCGM 100, G.4.1); below one
    there is no factor, which is infinite. Raises ValueError for a negative or missing number or
    a probability that does not lie between 0 and 1.
    """
    if math.isnan(dof) or dof < 0:
        raise ValueError(f"Degrees of freedom cannot be {dof}; expected zero or more.")
    if not 0 < probability < 1:
        raise ValueError(f"A probability lies between 0 and 1, not at {probability}.")
    if dof < 1:
        return math.inf
    one_sided = (1 + probability) / 2
    if dof > COUNTLESS:
        return float(special.ndtri(one_sided))
    # Effective degrees computed from round figures land a rounding error below a whole number.
    return float(special.stdtrit(math.floor(dof + 1e-9), one_sided))


def _limits(upper_um, lower_um, *, signed: bool) -> tuple[float, float]:
    if upper_um is None and lower_um is None:
        raise ValueError("A verdict needs an upper or a lower limit; neither was given.")
    upper = math.inf if upper_um is None else finite(upper_um, "The upper limit")
    lower = -math.inf if lower_um is None else finite(lower_um, "The lower limit")
    if upper <= lower:
        raise ValueError(f"The upper limit {upper:g} must be above the lower limit {lower:g}.")
    if lower_um is None and upper <= 0 and not signed:
        raise ValueError(f"A tolerance must be above zero, not {upper:g}.")
    return upper, lower


def _uncertainty(u_um) -> float:
    if u_um is None or math.isnan(u_um) or u_um == math.inf:
        return math.inf
    u = float(u_um)
    if u < 0:
        raise ValueError(f"An uncertainty cannot be negative: {u:g} was given.")
    return u
