"""How readings were taken, as far as it bears on how surely they are known, and the rows that
come of it in a budget."""

from __future__ import annotations

import math
from dataclasses import dataclass

from machines.engineering.inputs import finite, not_negative

from .budget import (
    STEEL_EXPANSION_PER_K,
    Component,
    arcsine,
    lever_row,
    rectangular,
    resolution_uncertainty,
    stated_reading_uncertainty,
)

# Readings are kept to 0.0001 µm; a scatter below that is the arithmetic's, and vouches for nothing.
LEAST_SCATTER_UM = 1e-4


@dataclass(frozen=True)
class Conditions:
    """What is known of a set of readings besides the readings.

    ``error_um``: the indicator's stated error (±), ``resolution_um`` what it is read to.
    ``typed_u_um``: the standard uncertainty of one reading as somebody put it; above zero it
    counts in place of both. ``sag_u_um``: standard uncertainty of the sag check.
    ``lever_error_deg``: how far (±) ``lever_deg`` may be off. ``temperature_k``: how far (±) the
    parts may differ over ``length_mm``. ``form_um``: the surface's out-of-round, peak to valley, as
    somebody stated it; None where it is not known.
    """

    error_um: float = 0.0
    resolution_um: float = 0.0
    typed_u_um: float = 0.0
    sag_u_um: float = 0.0
    lever_deg: float = 0.0
    lever_error_deg: float = 0.0
    temperature_k: float = 0.0
    length_mm: float = 0.0
    form_um: float | None = None

    @property
    def reading_u_um(self) -> float:
        """Standard uncertainty of one dial reading, zero when nothing is known of it."""
        if self.typed_u_um > 0:
            return float(self.typed_u_um)
        return stated_reading_uncertainty(self.error_um, self.resolution_um)

    @property
    def lever_cosine(self) -> float:
        return math.cos(math.radians(self.lever_deg))


@dataclass(frozen=True)
class Scatter:
    """Standard deviation of one reading from what was left over, with its degrees of freedom.

    ``explained``: what was stated of a reading allows it.
    """

    u_um: float
    dof: float
    explained: bool


def reading_rows(
    conditions: Conditions, scatter: Scatter, *, noise: float, steady: float
) -> list[Component]:
    """The rows that the readings themselves make, in the unit of the figure.

    ``noise``: the figure's standard uncertainty for independent errors of one in each reading;
    ``steady``: the same for the indicator's own error, which more readings do not average out.
    A typed uncertainty stands for all that makes a reading uncertain, so what is left over is
    only used in its place, where it is more than that allows. An unknown row is infinite.
    """
    cosine = conditions.lever_cosine
    known = scatter.dof > 0 and scatter.u_um >= LEAST_SCATTER_UM
    left_over = Component(
        "scatter of the readings", scatter.u_um if known else 0.0, scatter.dof, noise
    )
    if conditions.typed_u_um > 0:
        typed = Component(
            "one reading, as typed", conditions.typed_u_um, sensitivity=noise * cosine
        )
        rows = [typed if scatter.explained else left_over]
    else:
        rows = [
            Component(
                "indicator's stated error",
                rectangular(conditions.error_um),
                sensitivity=steady * cosine,
            ),
            Component(
                "resolution",
                resolution_uncertainty(conditions.resolution_um),
                sensitivity=noise * cosine,
            ),
            left_over,
        ]
    rows = [row for row in rows if row.contribution]
    return rows or [Component("scatter of the readings, unknown", math.inf, 0.0)]


def setting_rows(
    conditions: Conditions, value: float, *, sag: float, warm: float
) -> list[Component]:
    """The rows of sag, lever and temperature.

    ``sag``: by how much an error of one in the sag check moves the figure. ``warm``: the same
    for a shift of one of the whole surface.
    """
    length_um = finite(conditions.length_mm, "The length") * 1000
    rows = [
        Component("sag check", not_negative(conditions.sag_u_um, "The sag's u"), sensitivity=sag),
        lever_row(value, conditions.lever_deg, conditions.lever_error_deg),
        Component(
            "temperature",
            rectangular(abs(float(conditions.temperature_k))),
            sensitivity=STEEL_EXPANSION_PER_K * length_um * warm,
        ),
    ]
    return [row for row in rows if row.contribution]


def form_rows(beyond_um: float, effect: float = 1.0) -> list[Component]:
    """The row of form between the points, which may take a figure off by ``beyond_um`` times
    ``effect`` either way; none where nothing tells how far."""
    if not 0 < beyond_um < math.inf or not effect:
        return []
    return [Component("form between the points", arcsine(beyond_um), sensitivity=effect)]
