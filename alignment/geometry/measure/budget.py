"""Uncertainty budgets after the GUM (JCGM 100:2008): parts, combined uncertainty, shares.

The parts are taken as uncorrelated, and to first order (JCGM 100, 5.1.2). Effective degrees of
freedom are Welch–Satterthwaite's (G.4), the coverage factor is Student's t for them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from machines.engineering.inputs import finite, not_negative

from .verdict import USUAL_PROBABILITY, coverage_factor

# Steel; JCGM 100:2008, H.1 takes 11.5e-6 per kelvin for a steel end gauge.
STEEL_EXPANSION_PER_K = 11.5e-6
# Half of the difference of two opposite readings, each in error on its own.
LEAST_INDICATOR_SENSITIVITY = math.sqrt(0.5)


@dataclass(frozen=True)
class Component:
    """One row: ``u`` of an input with ``dof`` degrees of freedom, times its ``sensitivity``."""

    name: str
    u: float
    dof: float = math.inf
    sensitivity: float = 1.0

    @property
    def contribution(self) -> float:
        """What the row adds to the result's standard uncertainty, in the result's unit."""
        return abs(self.sensitivity) * self.u if self.sensitivity else 0.0


@dataclass(frozen=True)
class Budget:
    """A combined standard uncertainty and where it comes from.

    ``shares``: each row's part of u², in the order of ``components``, adding up to 1 (all zero
    when ``u`` is 0 or unknown). ``k`` covers ``probability``; ``expanded`` is k·u. An unknown
    row makes ``u``, ``k`` and ``expanded`` infinite, so that no verdict can rest on them.
    """

    components: tuple[Component, ...]
    u: float
    dof: float
    probability: float
    k: float
    expanded: float
    shares: tuple[float, ...]


def combine(components: Iterable[Component], probability: float = USUAL_PROBABILITY) -> Budget:
    """The budget of ``components`` (any one unit), expanded to ``probability``.

    Raises ValueError when there is no row, or a row's uncertainty or degrees are negative or NaN.
    """
    rows = tuple(components)
    if not rows:
        raise ValueError("A budget needs at least one part; there is none.")
    for row in rows:
        _refuse_nonsense(row)
    u = math.hypot(*(row.contribution for row in rows))
    dof = effective_dof(rows)
    k = coverage_factor(dof, probability) if math.isfinite(u) else math.inf
    shares = tuple(row.contribution**2 / u**2 if 0 < u < math.inf else 0.0 for row in rows)
    return Budget(rows, u, dof, probability, k, k * u if u else 0.0, shares)


def effective_dof(components: Sequence[Component]) -> float:
    """Welch–Satterthwaite: ν = u⁴ / Σ (cᵢuᵢ)⁴/νᵢ (JCGM 100, G.4.2); 0 when a row is unknown."""
    parts = [(row.contribution, row.dof) for row in components if row.contribution > 0]
    if any(math.isinf(part) or dof == 0 for part, dof in parts):
        return 0.0
    # Relative to the largest, so that fourth powers of small lengths do not vanish.
    largest = max((part for part, _ in parts), default=0.0)
    fourth = sum((part / largest) ** 4 / dof for part, dof in parts)
    return sum((part / largest) ** 2 for part, _ in parts) ** 2 / fourth if fourth else math.inf


def rectangular(half_width) -> float:
    """Standard uncertainty of what lies anywhere within ± ``half_width`` (JCGM 100, 4.3.7)."""
    return not_negative(half_width, "A half-width") / math.sqrt(3)


def arcsine(half_width) -> float:
    """Standard uncertainty of a wave within ± ``half_width`` met at any place (JCGM 101, 6.4.6)."""
    return not_negative(half_width, "A half-width") / math.sqrt(2)


def lever_row(value, lever_deg, lever_error_deg) -> Component:
    """The row of a lever's angle known within ± ``lever_error_deg``, for a figure ``value``.

    The figure goes with the cosine, so near 0° the second order is all there is of it:
    (a tan α)²/3 + a⁴/20 for an error anywhere within ± a (JCGM 100, F.2.4.4, from memory).
    """
    within = math.radians(not_negative(lever_error_deg, "How far the lever's angle may be off"))
    slope = math.tan(math.radians(finite(lever_deg, "The lever's angle")))
    turned = abs(value) * math.hypot(slope, within * math.sqrt(3 / 20))
    return Component("lever angle", rectangular(within), sensitivity=turned)


def resolution_uncertainty(step) -> float:
    """Standard uncertainty of a reading taken to the nearest ``step`` (JCGM 100, F.2.2.1)."""
    return rectangular(not_negative(step, "The step of the dial") / 2)


def stated_reading_uncertainty(indicator_error_um, resolution_um, repeatability_um=0.0) -> float:
    """u of one dial reading for ``fit_sweep``: stated error ±, scale step, repeatability (1 s)."""
    return math.hypot(
        rectangular(indicator_error_um),
        resolution_uncertainty(resolution_um),
        not_negative(repeatability_um, "The repeatability", "µm"),
    )


def _refuse_nonsense(row: Component) -> None:
    if math.isnan(row.u) or row.u < 0:
        raise ValueError(f"{row.name}: an uncertainty cannot be {row.u}; expected zero or more.")
    if math.isnan(row.dof) or row.dof < 0:
        raise ValueError(f"{row.name}: degrees of freedom cannot be {row.dof}.")
    finite(row.sensitivity, f"{row.name}: the sensitivity")
