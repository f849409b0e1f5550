"""Uncertainty budgets after the GUM (JCGM 100:2008): parts, combined uncertainty, shares.

The parts are taken as uncorrelated, and to first order (JCGM 100, 5.1.2). Effective degrees of
freedom are Welch–Satterthwaite's (G.4), the coverage factor is Student's t for them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from machines.engineering.inputs import finite, not_negative

from .sweep import SweepFit
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


def sweep_components(
    fit: SweepFit,
    *,
    indicator_error_um=0.0,
    resolution_um=0.0,
    repeats_um=None,
    sag_u_um=0.0,
    lever_deg=0.0,
    lever_error_deg=0.0,
    temperature_difference_k=0.0,
    length_mm=0.0,
    expansion_per_k=STEEL_EXPANSION_PER_K,
) -> list[Component]:
    """The rows of the budget of one sweep's offset, in µm; rows that add nothing are left out.

    ``indicator_error_um``: largest error the indicator is stated to have (±). ``resolution_um``:
    what it was read to. ``repeats_um`` (m, 2): (right, up) of m ≥ 2 sweeps of the same setting;
    their scatter is that of one of them. ``sag_u_um``: standard uncertainty of the sag check; half
    of it reaches the offset at worst. ``lever_error_deg``: how far (±) ``lever_deg`` may be off.
    ``temperature_difference_k``: how far (±) the parts may differ over ``length_mm``, the
    distance whose expansion moves one centre past the other, such as the centre height.

    Errors of reading and repeatability shrink with the number of readings as the fit does. The
    indicator's own error repeats with its hand, so its row never shrinks below that of an offset
    from two opposite readings. When nothing at all is known of a reading, a row is infinite.
    """
    shrink = _along_offset(fit)
    steady = max(shrink, LEAST_INDICATOR_SENSITIVITY)
    expansion = finite(expansion_per_k, "The expansion") * finite(length_mm, "The length") * 1000
    rows = [
        Component("indicator's stated error", rectangular(indicator_error_um), sensitivity=steady),
        Component("resolution", resolution_uncertainty(resolution_um), sensitivity=shrink),
        _repeatability(repeats_um),
        Component("sag correction", not_negative(sag_u_um, "The sag's uncertainty"), math.inf, 0.5),
        lever_row(fit.offset_um, lever_deg, lever_error_deg),
        Component(
            "temperature", rectangular(abs(float(temperature_difference_k))), sensitivity=expansion
        ),
        _residual_row(fit, shrink),
    ]
    about_reading = (rows[0], rows[1], rows[2], rows[-1])
    if not any(row.contribution for row in about_reading):
        rows.append(Component("scatter of the readings, unknown", math.inf, 0.0))
    return [row for row in rows if row.contribution]


def _refuse_nonsense(row: Component) -> None:
    if math.isnan(row.u) or row.u < 0:
        raise ValueError(f"{row.name}: an uncertainty cannot be {row.u}; expected zero or more.")
    if math.isnan(row.dof) or row.dof < 0:
        raise ValueError(f"{row.name}: degrees of freedom cannot be {row.dof}.")
    finite(row.sensitivity, f"{row.name}: the sensitivity")


def _along_offset(fit: SweepFit) -> float:
    """The offset's uncertainty for a reading uncertainty of one, in the fit's own direction."""
    theta = np.radians(fit.angles_deg)
    design = np.column_stack([np.ones(len(theta)), np.sin(theta), np.cos(theta)])
    spread = np.linalg.inv(design.T @ design)[1:, 1:]
    if fit.offset_um <= 0:
        return math.sqrt(np.linalg.eigvalsh(spread)[-1])
    along = np.array([fit.right_um, fit.up_um]) / fit.offset_um
    return math.sqrt(along @ spread @ along)


def _repeatability(repeats_um) -> Component:
    if repeats_um is None or len(repeats_um) < 2:
        return Component("repeatability", 0.0)
    offsets = np.asarray(repeats_um, dtype=float)
    dof = 2 * (len(offsets) - 1)
    squares = np.sum((offsets - offsets.mean(axis=0)) ** 2)
    return Component("repeatability", math.sqrt(squares / dof), dof)


def _residual_row(fit: SweepFit, shrink: float) -> Component:
    if fit.dof == 0:
        return Component("fit residual", 0.0)
    scatter = math.sqrt(float(np.sum(fit.residuals_um**2)) / fit.dof)
    return Component("fit residual", scatter, fit.dof, shrink)
