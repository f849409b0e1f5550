"""Flats compared with a bar in the spindle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from alignment.geometry.arrays import finite_array
from machines.engineering.inputs import finite, not_negative, positive

from .scatter import reading_uncertainty


@dataclass(frozen=True, eq=False)
class FlatHeight:
    """How far a flat stands from the spindle axis along its own normal.

    ``height_um``: flat above (or beyond) the axis; ``error_um``: the same less what it should be,
    plus meaning too high, or too far out. ``lean_um``: peak to valley of the readings along the
    flat, ``scatter_um`` their standard deviation with ``scatter_dof`` degrees of freedom (infinite
    with 0 for a single one). ``bar_runout_um``: peak to valley of those on the bar as it turned.
    """

    height_um: float
    error_um: float
    u_um: float
    dof_u: float
    lean_um: float
    scatter_um: float
    scatter_dof: float
    bar_runout_um: float


def flat_height(
    bar_um, flat_um, bar_diameter_um, *, nominal_um=0.0, reading_u_um=0.0, diameter_u_um=0.0
) -> FlatHeight:
    """Centre height or position of a tool station: its reference flat against a bar in the spindle.

    One indicator, its zero untouched, reads the crest of a bar of known diameter in the spindle
    (``bar_um``, k ≥ 2 readings evenly round a turn, so that run-out averages out) and the flat
    (``flat_um``, j ≥ 1 readings along it). Flat = half the diameter + mean flat − mean bar.
    ``nominal_um``: where the flat should stand from the axis. Used upwards it gives a gang tool
    station's centre height, used sideways its centre position. Raises ValueError for a single
    reading on the bar, which would keep its run-out, or numbers that are not finite.
    """
    bar = finite_array(bar_um, "readings on the bar")
    flat = finite_array(flat_um, "readings on the flat")
    if len(bar) < 2 or len(flat) < 1:
        raise ValueError(
            "Read the bar at two opposite positions of the spindle at least, and the flat once."
        )
    radius = positive(bar_diameter_um, "The bar's diameter", "µm") / 2
    stated = not_negative(reading_u_um, "The uncertainty of a reading", "µm")
    # Run-out is no scatter, so only the flat's readings speak about the reading itself.
    around = (flat - flat.mean())[None]
    u_reading, dof_u = reading_uncertainty(around, len(flat) - 1, np.array([stated]))
    u_diameter = not_negative(diameter_u_um, "The uncertainty of the diameter", "µm")
    height = radius + float(flat.mean() - bar.mean())
    return FlatHeight(
        height_um=height,
        error_um=height - finite(nominal_um, "The nominal height"),
        u_um=math.hypot(
            float(u_reading[0]) * math.sqrt(1 / len(bar) + 1 / len(flat)), u_diameter / 2
        ),
        dof_u=float(dof_u[0]),
        lean_um=float(np.ptp(flat)),
        scatter_um=float(flat.std(ddof=1)) if len(flat) > 1 else math.inf,
        scatter_dof=float(len(flat) - 1),
        bar_runout_um=float(np.ptp(bar)),
    )
