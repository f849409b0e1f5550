"""What one indicator sweep says: where the centre of the swept surface lies, and how surely.

Angles are clock positions seen from the indicator's side: 0° at the top, clockwise positive.
With e = (right, up) the centre of the swept surface seen from the axis of rotation and
u(θ) = (sin θ, cos θ), an indicator that reads plus when its plunger is pushed in shows
c − e·u(θ) in a bore and c + e·u(θ) on a boss or a bar.

The centre is the least-squares circle's: for equally spaced readings the sums 2/N Σ r sin θ and
2/N Σ r cos θ of roundness measurement, for other angles ordinary least squares.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alignment.geometry.arrays import finite_array
from alignment.geometry.vectors import clock_position, scaled_covariance, size_uncertainty
from machines.engineering.inputs import finite, not_negative

from .scatter import reading_uncertainty

SIGN = {"bore": -1.0, "boss": 1.0}
FEWEST_READINGS = 3
# A layout of angles that blows one reading's error up more than this says nothing.
LARGEST_BLOW_UP = 1000.0


@dataclass(frozen=True, eq=False)
class SweepFit:
    """The least-squares centre of one sweep of n readings.

    ``right_um``, ``up_um``: centre of the swept surface from the axis of rotation.
    ``offset_um``, ``clock_deg``: its size and clock position (0 for an offset of zero).
    ``corrected_um`` (n): readings with sag taken off, times the cosine of the lever angle; all
    below refers to these. ``mean_um``: their mean level c. ``tir_um``: highest less lowest; it
    falls short of 2 × ``offset_um`` when no reading stands on the high or low point.
    ``residuals_um`` (n): reading less fit. ``form_um``: their peak to valley.
    ``closure_um``: (r0 + r180) − (r90 + r270), None unless those four were read.
    ``covariance_um2`` (2, 2): of (right, up). ``u_offset_um``: standard uncertainty of the offset.
    ``u_reading_um``: the standard uncertainty of one reading behind both, and ``dof_u`` its
    degrees of freedom: infinite when it was stated, ``dof`` = n − 3 when it comes from the
    residuals, 0 when nothing is known; then uncertainties are infinite, the covariance with
    infinity on its diagonal, so that no verdict can rest on them.
    """

    surface: str
    angles_deg: np.ndarray
    corrected_um: np.ndarray
    right_um: float
    up_um: float
    offset_um: float
    clock_deg: float
    mean_um: float
    tir_um: float
    residuals_um: np.ndarray
    form_um: float
    closure_um: float | None
    covariance_um2: np.ndarray
    u_offset_um: float
    u_reading_um: float
    dof: int
    dof_u: float


@dataclass(frozen=True, eq=False)
class SweepFits:
    """m sweeps with the same n angles: the fields of ``SweepFit`` with a leading axis of m.

    ``angles_deg`` (n), ``surface`` and ``dof`` are shared; ``closure_um`` is None or (m).
    """

    surface: str
    angles_deg: np.ndarray
    corrected_um: np.ndarray
    right_um: np.ndarray
    up_um: np.ndarray
    offset_um: np.ndarray
    clock_deg: np.ndarray
    mean_um: np.ndarray
    tir_um: np.ndarray
    residuals_um: np.ndarray
    form_um: np.ndarray
    closure_um: np.ndarray | None
    covariance_um2: np.ndarray
    u_offset_um: np.ndarray
    u_reading_um: np.ndarray
    dof: int
    dof_u: np.ndarray

    def __len__(self) -> int:
        return len(self.right_um)

    def __getitem__(self, index: int) -> SweepFit:
        shared = {"surface", "angles_deg", "dof"}
        arrays = ("corrected_um", "residuals_um", "covariance_um2")
        fields = {}
        for name, value in vars(self).items():
            if name in shared or value is None:
                fields[name] = value
            else:
                fields[name] = value[index] if name in arrays else float(value[index])
        return SweepFit(**fields)


def fit_sweep(
    angles_deg, readings_um, *, surface="bore", sag_um=0.0, lever_deg=0.0, reading_u_um=0.0
) -> SweepFit:
    """Fit the centre to ``readings_um`` (n) taken at ``angles_deg`` (n), n of 3 or more.

    ``sag_um`` is what the sag check reads at 180° when zeroed at 0°; sag/2·(1 − cos θ) is taken
    off each reading, on both surfaces. The sag check must be read with the plunger facing as it
    does in the sweep: on a bar the plunger faces inwards, so a check on a bar has the opposite
    sign of what a bore sweep needs. ``lever_deg`` (0 to below 90) is the angle between the
    lever's stylus and the surface; readings are multiplied by its cosine. ``reading_u_um`` is the
    standard uncertainty of one dial reading; it is used unless the residuals scatter more than it
    allows (chi-square, 95 %), then the residuals are. With 0 the residuals alone are used.

    Raises ValueError for fewer than three readings, an angle given twice (0° and 360° are one
    angle), angles too close together, numbers that are not finite, or an unknown surface.
    """
    readings = finite_array(readings_um, "readings")
    return fit_sweeps(
        angles_deg,
        readings[None, :],
        surface=surface,
        sag_um=finite(sag_um, "The sag"),
        lever_deg=lever_deg,
        reading_u_um=finite(reading_u_um, "The uncertainty of a reading"),
    )[0]


def fit_sweeps(
    angles_deg, readings_um, *, surface="bore", sag_um=0.0, lever_deg=0.0, reading_u_um=0.0
) -> SweepFits:
    """Fit m sweeps at once: ``angles_deg`` (n), ``readings_um`` (m, n), the rest as ``fit_sweep``.

    ``sag_um`` and ``reading_u_um`` may be one number or one per sweep (m).
    """
    sign = surface_sign(surface)
    angles = checked_angles(angles_deg)
    readings = finite_array(readings_um, "readings", ndim=2)
    if readings.shape[1] != len(angles):
        raise ValueError(
            f"There are {len(angles)} angles but {readings.shape[1]} readings; "
            "each angle needs its reading."
        )
    lever = lever_cosine(lever_deg)
    sag = _per_sweep(sag_um, len(readings), "sag")
    stated = _per_sweep(reading_u_um, len(readings), "uncertainty of a reading")
    if np.any(stated < 0):
        not_negative(stated.min(), "The uncertainty of a reading", "µm")
    corrected = (readings - sag[:, None] / 2 * (1 - np.cos(np.radians(angles)))) * lever
    return _fit(surface, sign, angles, corrected, stated * lever)


def predicted_readings(
    right_um, up_um, angles_deg, surface="bore", zero_at_deg: float | None = 0.0
) -> np.ndarray:
    """What the dial shows at ``angles_deg`` (n) for a centre at (right, up), zeroed as said.

    ``right_um`` and ``up_um`` are numbers, giving (n), or (m), giving (m, n). ``zero_at_deg``
    None leaves the mean level at zero. Raises ValueError for numbers that are not finite or an
    unknown surface.
    """
    angles = finite_array(angles_deg, "angles")
    right, up = np.asarray(right_um, dtype=float), np.asarray(up_um, dtype=float)
    if not (np.all(np.isfinite(right)) and np.all(np.isfinite(up))):
        raise ValueError("The offset to predict from must be finite numbers.")
    if zero_at_deg is None:
        zero = np.zeros(2)
    else:
        zero = _directions(np.array([finite(zero_at_deg, "The angle of the dial's zero")]))[0]
    along = _directions(angles) - zero
    return surface_sign(surface) * (np.stack([right, up], axis=-1) @ along.T)


def surface_sign(surface: str) -> float:
    """−1 for "bore", +1 for "boss"; ValueError for any other surface."""
    if surface not in SIGN:
        raise ValueError(f"A swept surface is a bore or a boss, not {surface!r}.")
    return SIGN[surface]


def lever_cosine(lever_deg) -> float:
    """The cosine a lever indicator's readings are multiplied by; ValueError at 90° and beyond."""
    lever = finite(lever_deg, "The lever's angle to the surface")
    if not 0 <= lever < 90:
        raise ValueError(
            f"The lever's angle to the surface must be from 0° to below 90°, not {lever:g}°."
        )
    return float(np.cos(np.radians(lever)))


def checked_angles(angles_deg) -> np.ndarray:
    """The angles (n) brought to 0 to below 360; ValueError unless they can carry a fit."""
    angles = finite_array(angles_deg, "angles") % 360
    angles[angles >= 360] = 0.0  # what lies a rounding error below zero
    if len(angles) < FEWEST_READINGS:
        raise ValueError(f"A sweep needs at least three readings; there are {len(angles)}.")
    ordered = np.sort(angles)
    gaps = np.diff(ordered, append=ordered[0] + 360)
    if np.any(gaps < 1e-6):
        twice = ordered[np.argmin(gaps)]
        raise ValueError(f"The angle {twice:g}° is given twice; each angle may stand once.")
    if np.sqrt(np.linalg.eigvalsh(_spread(_design(angles, 1.0)))[-1]) > LARGEST_BLOW_UP:
        raise ValueError(
            "The angles stand too close together to tell an offset from the dial's zero; "
            "spread them over the turn."
        )
    return angles


def _per_sweep(value, count: int, what: str) -> np.ndarray:
    array = finite_array(np.atleast_1d(value), what)
    if len(array) not in (1, count):
        raise ValueError(f"Give one {what} for all sweeps or one for each of the {count}.")
    return np.broadcast_to(array, (count,))


def _directions(angles: np.ndarray) -> np.ndarray:
    """u(θ) = (sin θ, cos θ) for each angle, (n, 2)."""
    theta = np.radians(angles)
    return np.column_stack([np.sin(theta), np.cos(theta)])


def _design(angles: np.ndarray, sign: float) -> np.ndarray:
    return np.column_stack([np.ones(len(angles)), sign * _directions(angles)])


def _spread(design: np.ndarray) -> np.ndarray:
    """(XᵀX)⁻¹ for (right, up), (2, 2)."""
    inverse = np.linalg.pinv(np.linalg.qr(design, mode="r"), rcond=1e-15)
    return (inverse @ inverse.T)[1:, 1:]


def _fit(surface, sign, angles, corrected, stated) -> SweepFits:
    design = _design(angles, sign)
    level, right, up = np.linalg.lstsq(design, corrected.T, rcond=None)[0]
    residuals = corrected - np.column_stack([level, right, up]) @ design.T
    dof = len(angles) - 3
    u_reading, dof_u = reading_uncertainty(residuals, dof, stated)
    covariance = scaled_covariance(_spread(design), u_reading)
    return SweepFits(
        surface=surface,
        angles_deg=angles,
        corrected_um=corrected,
        right_um=right,
        up_um=up,
        offset_um=np.hypot(right, up),
        clock_deg=clock_position(right, up),
        mean_um=level,
        tir_um=np.ptp(corrected, axis=1),
        residuals_um=residuals,
        form_um=np.ptp(residuals, axis=1),
        closure_um=_closure(angles, corrected),
        covariance_um2=covariance,
        u_offset_um=size_uncertainty(np.column_stack([right, up]), covariance, dof_u),
        u_reading_um=u_reading,
        dof=dof,
        dof_u=dof_u,
    )


def _closure(angles, corrected) -> np.ndarray | None:
    columns = []
    for wanted in (0, 180, 90, 270):
        distance = np.abs((angles - wanted + 180) % 360 - 180)
        if distance.min() > 1e-6:
            return None
        columns.append(corrected[:, np.argmin(distance)])
    top, bottom, right, left = columns
    return (top + bottom) - (right + left)
