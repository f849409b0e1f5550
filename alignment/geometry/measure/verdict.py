"""What may be said about a figure and its limits, given how surely the figure is known.

Decision rule: ISO 14253-1. A figure is within when it stays inside the limits by the guard band,
outside when it is past them by it, and not proven in between. The guard band is a multiple of the
standard uncertainty: `guard_factor` says which by the rule that was chosen.
Probabilities: JCGM 106:2012, 7.4; by Student's t where the uncertainty itself is badly known
(`of_all_told` says with which), and within the circle where the figure is the length of a vector.
"""

from __future__ import annotations

import math
from enum import StrEnum
from functools import cache

import numpy as np
from scipy import special

from alignment.geometry.drift.outside import outside_circle
from machines.engineering.inputs import finite, positive

# Two standard deviations of the normal distribution, which is what k = 2 stands for.
USUAL_PROBABILITY = 0.9545

# What a verdict is right with at least, by the rule that counts one limit at a time.
CONFORMITY = 0.95

# From here on Student's t is the normal distribution to more digits than anybody reads.
COUNTLESS = 1e9

# What `points_off` found by simulation, in points of a hundred; up to three go without saying.
FEW_DOF = 10.0
WIDE = 0.25
POINTS_OFF_ALONE, POINTS_OFF_WIDE = 6, 16


class Verdict(StrEnum):
    """The word for a check, which is also its value."""

    WITHIN = "within"
    OUTSIDE = "outside"
    NOT_PROVEN = "not proven"
    NO_LIMIT = "no limit on record"


class Rule(StrEnum):
    """Which guard band a verdict keeps from its limits.

    ``ONE_SIDED``: a figure on the guard band's edge conforms with 95 %, the default of
    ISO 14253-1:2017 (from memory). ``EXPANDED``: by the expanded uncertainty, k = 2, as the
    standard had it before (from memory).
    """

    ONE_SIDED = "95 one-sided"
    EXPANDED = "k 2"


def guard_factor(rule: Rule, dof: float) -> float:
    """The guard band over the standard uncertainty with ``dof`` degrees of freedom: 1.645 or 2 for
    countless ones, by Student's t for few. ValueError as `coverage_factor`."""
    one_sided = Rule(rule) is Rule.ONE_SIDED
    return coverage_factor(dof, 2 * CONFORMITY - 1 if one_sided else USUAL_PROBABILITY)


def decide(
    value_um, u_um, upper_um, lower_um=None, k: float = 2.0, *, signed: bool = False
) -> Verdict:
    """The verdict on ``value_um`` with standard uncertainty ``u_um``; any one unit will do.

    Either limit may be None; with neither there is nothing to decide by, which is NO_LIMIT. A
    figure on a limit of the guard band counts as within or not proven, never as outside. An unknown
    uncertainty (None, infinite or NaN) and an infinite ``k`` prove nothing. Raises ValueError for a
    value that is not finite, a negative uncertainty, an upper limit not above the lower, or a lone
    upper limit of zero or less, which is no tolerance for a size; ``signed`` allows it, for a
    figure that may only be low.
    """
    value = finite(value_um, "The measured figure")
    if upper_um is None and lower_um is None:
        _uncertainty(u_um)
        return Verdict.NO_LIMIT
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


def probability_within(
    value_um, u_um, upper_um=None, lower_um=None, *, dof=math.inf, vector=False
) -> float | None:
    """The probability that the true figure lies within the limits; None when ``u_um`` is unknown
    or there is no limit.

    About ``value_um`` it is spread by ``u_um`` and Student's t with ``dof`` degrees of freedom
    (JCGM 106:2012, 7.4). ``vector``: the figure is the length of one, each part of which is known
    within ``u_um``, and the upper limit a circle. With ``u_um`` of zero it is 1 or 0. Raises
    ValueError as ``decide`` does, except that any lone limit is taken, and for degrees of freedom
    that are negative or no number.
    """
    value = finite(value_um, "The measured figure")
    if upper_um is None and lower_um is None:
        return None
    upper, lower = _limits(upper_um, lower_um, signed=True)
    u = _uncertainty(u_um)
    if math.isnan(dof) or dof < 0:
        raise ValueError(f"Degrees of freedom cannot be {dof}; expected zero or more.")
    if not math.isfinite(u) or dof == 0:
        return None
    if u == 0:
        return float(lower <= value <= upper)
    if vector:
        return _within_circle(value, u, upper, dof)
    below = special.ndtr if dof > COUNTLESS else lambda away: special.stdtr(dof, away)
    return float(below((upper - value) / u) - below((lower - value) / u))


def of_all_told(u: float, dof: float) -> tuple[float, float]:
    """The (u, degrees of freedom) to tell a chance with, for an ``u`` that ``dof`` readings gave.

    Where readings scatter more by luck, more figures are told a chance between none and all; so
    among those told the same, a large u is met more often than its own distribution has it. With
    one degree more and u² less by dof / (dof + 1), which is Jeffreys' prior of place and scale
    together, of all told p % as many are within; plain Student's t is off by up to 15 points.
    """
    if not 0 < dof < COUNTLESS:
        return u, dof
    return u * math.sqrt(dof / (dof + 1)), dof + 1


def points_off(dof: float, share: float = 0.0) -> int:
    """By how many points in a hundred a chance from ``dof`` degrees of freedom may be off; 0 where
    it is three at most.

    ``share``: of a vector, its u over the radius of its limit. No formula mends what is left: an
    uncertainty that wide and that badly known does not say where in the circle the vector ends.
    """
    if not 0 < dof < FEW_DOF:
        return 0
    if share > WIDE:
        return POINTS_OFF_WIDE
    return POINTS_OFF_ALONE if dof < 2 else 0


def _within_circle(distance, u, radius, dof) -> float:
    """Of a bivariate normal vector or, with few degrees of freedom, a bivariate t."""
    if radius <= 0:
        return 0.0
    share, weight = _shares()
    stretch = np.sqrt(dof / special.chdtri(dof, share)) if dof < COUNTLESS else np.ones(len(share))
    mean = np.tile([float(distance), 0.0], (len(share), 1))
    outside = outside_circle(mean, (u * stretch) ** 2, np.full(len(share), float(radius)))
    return float(1 - weight @ outside)


@cache
def _shares():
    """Nodes and weights of Gauss and Legendre over the shares from 0 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(96)
    return (nodes + 1) / 2, weights / 2


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


@cache
def dof_of(coverage: float) -> float:
    """The degrees of freedom for which `coverage_factor` gives ``coverage``; infinite from 2.0 on
    down, where a record says no more than that they are countless."""
    if not coverage > coverage_factor(1e4):
        return math.inf
    return float(special.stdtridf((1 + USUAL_PROBABILITY) / 2, coverage))


def _limits(upper_um, lower_um, *, signed: bool) -> tuple[float, float]:
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
