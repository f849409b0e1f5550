"""The verdict on a figure that was worked out, and how likely it lies within its limits: one
function for what is being typed, a stored check and paper."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .outcome import SweepOutcome
from .quantity import OFFSET, RUNOUT_FAR, RUNOUT_NEAR, SIGNED, TILT
from .verdict import Rule, Verdict, decide, guard_factor, probability_within

# The length of a vector each part of which may be off.
VECTORS = frozenset({OFFSET, TILT, RUNOUT_NEAR, RUNOUT_FAR})


@dataclass(frozen=True)
class Judgement:
    """``guard_um``: the guard band kept from each limit, None where the uncertainty is not known;
    ``likely``: the chance of lying within, None where it is not known or form is not."""

    verdict: Verdict
    likely: float | None
    rule: Rule
    guard_um: float | None


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
    likely = probability_within(value_um, u, *limits, dof=dof, vector=quantity in VECTORS)
    return Judgement(verdict, likely, rule, guard)


def _without_form(outcome, upper_um, guard) -> Verdict:
    least = outcome.least_um
    if None in (least, upper_um, guard) or least <= upper_um + guard:
        return Verdict.NOT_PROVEN
    return Verdict.OUTSIDE
