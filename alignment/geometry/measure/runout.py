"""Run-out from readings at a few points: what an offset and an oval make of it, and what may lie
between the points.

Highest less lowest of the readings falls short of the run-out unless readings stand on the high and
the low point: of a pure offset, four points see 1.41 to 2 times it. So the figure is that of the
curve through the readings. With eight points or more the curve has an offset and an oval (a first
and a second harmonic) and what it leaves over may stand higher or lower still. With fewer an oval
cannot be told from noise, and from three not from an offset: only an out-of-round that was stated
says then what may lie between the points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .sweep import SweepFit

# Fewest readings that tell an oval from an offset and have some left over to say how well.
SETTLING_POINTS = 8
_TURN = np.radians(np.arange(0.0, 360.0, 0.5))


@dataclass(frozen=True)
class RunOut:
    """``value_um``: the run-out of the curve through the readings, or highest less lowest where
    that is more. ``seen_um``: highest less lowest. ``beyond_um``: by how much form between the
    points may take it off ``value_um``; infinite where nothing tells.
    """

    value_um: float
    seen_um: float
    beyond_um: float


def run_out(fit: SweepFit, form_um: float | None = None, reading_u_um: float = 0.0) -> RunOut:
    """The run-out of one sweep.

    ``form_um``: the surface's out-of-round from peak to valley as stated, None where it is not
    known; it is taken to be no smaller than two of ``reading_u_um``, the standard uncertainty of a
    reading, and no smaller than what the readings leave over.
    """
    seen = fit.tir_um
    if shows_oval(fit.angles_deg):
        curve, left_over = _with_oval(fit)
        return RunOut(max(curve, seen), seen, max(left_over, form_um or 0.0))
    value = max(2 * fit.offset_um, seen)
    if form_um is None:
        return RunOut(value, seen, math.inf)
    form = max(form_um, fit.form_um, 2 * reading_u_um)
    highest = 2 * fit.offset_um + form * (1 + oval_in_offset(fit.angles_deg))
    return RunOut(value, seen, highest - value)


def shows_oval(angles_deg) -> bool:
    """Whether readings at these angles tell an oval from an offset."""
    if len(angles_deg) < SETTLING_POINTS:
        return False
    return float(np.linalg.cond(_columns(np.radians(angles_deg)))) < SETTLING_POINTS


def oval_in_offset(angles_deg) -> float:
    """The offset that an oval of amplitude one is taken for at the worst clock position: none with
    four or more evenly spaced points, all of it with three."""
    design = _columns(np.radians(angles_deg))
    taken = np.linalg.pinv(design[:, :3])[1:] @ design[:, 3:]
    largest = float(np.linalg.svd(taken, compute_uv=False)[0])
    return largest if largest > 1e-9 else 0.0


def _columns(theta) -> np.ndarray:
    """(n, 5): level, offset and oval."""
    waves = [wave(harmonic * theta) for harmonic in (1, 2) for wave in (np.sin, np.cos)]
    return np.column_stack([np.ones(len(theta)), *waves])


def _with_oval(fit) -> tuple[float, float]:
    """Peak to valley of offset and oval together, and of what both leave over."""
    design = _columns(np.radians(fit.angles_deg))
    parts = np.linalg.lstsq(design, fit.corrected_um, rcond=None)[0]
    return float(np.ptp(_columns(_TURN) @ parts)), float(np.ptp(fit.corrected_um - design @ parts))
