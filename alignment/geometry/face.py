"""Faces swept by an indicator in the spindle, and flats compared with a bar in the spindle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from machines.engineering.inputs import finite, not_negative, positive

from .arrays import finite_array
from .axis import PER_MM, Axis
from .scatter import reading_uncertainty
from .sweep import SweepFit, fit_sweep


@dataclass(frozen=True, eq=False)
class FaceFit:
    """How a face stands to the axis of rotation.

    Slopes in µm per 100 mm: positive where the face stands nearer to the indicator, on the right
    or at the top. ``clock_deg``: where it stands nearest. ``flatness_um``: peak to valley left
    over on the swept circle. ``covariance`` (2, 2) of (slope right, slope up).
    ``sweep``: the sweep behind it, its offset being the face's rise over the swept radius.
    """

    radius_mm: float
    slope_right_um_per_100mm: float
    slope_up_um_per_100mm: float
    slope_um_per_100mm: float
    clock_deg: float
    covariance: np.ndarray
    u_slope_um_per_100mm: float
    flatness_um: float
    tir_um: float
    dof_u: float
    sweep: SweepFit


def fit_face(
    angles_deg, readings_um, radius_mm, *, sag_um=0.0, lever_deg=0.0, reading_u_um=0.0
) -> FaceFit:
    """Squareness of a face from axial readings (n) on a circle of ``radius_mm``.

    The indicator turns with the spindle and reads plus when the face pushes its plunger in. The
    keywords are those of ``fit_sweep``; ``sag_um`` is the sag's effect on an axial reading.
    Raises ValueError as ``fit_sweep`` does, and for a radius that is not above zero.
    """
    radius = positive(radius_mm, "The radius of the swept circle", "mm")
    sweep = fit_sweep(
        angles_deg,
        readings_um,
        surface="boss",  # nearer on the right reads high on the right, as a boss does
        sag_um=sag_um,
        lever_deg=lever_deg,
        reading_u_um=reading_u_um,
    )
    per_100 = PER_MM / radius
    return FaceFit(
        radius_mm=radius,
        slope_right_um_per_100mm=sweep.right_um * per_100,
        slope_up_um_per_100mm=sweep.up_um * per_100,
        slope_um_per_100mm=sweep.offset_um * per_100,
        clock_deg=sweep.clock_deg,
        covariance=sweep.covariance_um2 * per_100**2,
        u_slope_um_per_100mm=sweep.u_offset_um * per_100,
        flatness_um=sweep.form_um,
        tir_um=sweep.tir_um,
        dof_u=sweep.dof_u,
        sweep=sweep,
    )


def rim_and_face(rim: SweepFit, face: FaceFit, z_mm: float = 0.0) -> Axis:
    """The axis of a part from its rim, swept at the plane ``z_mm``, and its face.

    The face is taken as square to the part's own axis: where it stands nearer, the axis leans
    that way the further it runs from the indicator.
    """
    covariance = np.zeros((4, 4))
    covariance[:2, :2], covariance[2:, 2:] = rim.covariance_um2, face.covariance
    slopes = [face.slope_right_um_per_100mm, face.slope_up_um_per_100mm]
    return Axis(
        z_ref_mm=finite(z_mm, "The plane of the rim"),
        parameters=np.array([rim.right_um, rim.up_um, *slopes]),
        covariance=covariance,
        dof_u=min(rim.dof_u, face.dof_u),
    )


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
