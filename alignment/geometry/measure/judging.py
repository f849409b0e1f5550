"""The verdict on a figure that was worked out, and how likely it lies within its limits: one
function for what is being typed, a stored check and paper."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .outcome import SweepOutcome
from .quantity import OFFSET, RUNOUT_FAR, RUNOUT_NEAR, SIGNED, TILT
from .verdict import (
    Rule,
    Verdict,
    decide,
    guard_factor,
    of_all_told,
    points_off,
    probability_within,
)

# The length of a vector each part of which may be off.
VECTORS = frozenset({OFFSET, TILT, RUNOUT_NEAR, RUNOUT_FAR})


@dataclass(frozen=True)
class Judgement:
    """``guard_um``: the guard band kept from each limit, None where the uncertainty is not known;
    ``likely``: the chance of lying within, None where it is not known or form is not, and by how
    many points in a hundred it may be off where that is more than three."""

    verdict: Verdict
    likely: float | None
    rule: Rule
    guard_um: float | None
    likely_off: int = 0


def judge(
    outcome: SweepOutcome, quantity: str, upper_um, lower_um, rule: Rule, *, sign: float = 1.0
) -> Judgement:
    """Hold ``outcome``, told of the station by ``sign``, against its limits, either of them None,
    by ``rule``.

    Where readings cannot show form and nobody stated it, nothing is proven but that a run-out is
    past its limit. Raises ValueError as `decide` does.
    """
    u, dof = outcome.budget.u, outcome.budget.dof
    factor = guard_factor(rule, dof) if math.isfinite(u) else math.inf
    limits, signed = (upper_um, lower_um), quantity in SIGNED
    value_um = sign * outcome.value_um
    verdict = decide(value_um, u, *limits, k=factor, signed=signed)
    guard = factor * u if math.isfinite(factor) else None
    if outcome.form_unknown:
        return Judgement(_without_form(outcome, upper_um, guard), None, rule, guard)
    vector = quantity in VECTORS
    likely = likely_within(value_um, u, *limits, dof=dof, vector=vector)
    off = points_off(dof, u / upper_um if vector and upper_um else 0.0)
    return Judgement(verdict, likely, rule, guard, off)


def likely_within(value_um, u_um, upper_um, lower_um, *, dof, vector) -> float | None:
    """The chance of lying within that is told: of all told p %, as many are. Arguments and errors
    as `probability_within`."""
    if dof > 0 and math.isfinite(u_um):
        u_um, dof = of_all_told(u_um, dof)
    return probability_within(value_um, u_um, upper_um, lower_um, dof=dof, vector=vector)


def _without_form(outcome, upper_um, guard) -> Verdict:
    least = outcome.least_um
    if None in (least, upper_um, guard) or least <= upper_um + guard:
        return Verdict.NOT_PROVEN
    return Verdict.OUTSIDE
