"""One figure from sweeps in one plane or several, each perhaps repeated, and its budget.

The budget follows JCGM 100:2008 (GUM): every part's uncertainty times what a change of one in it
does to the figure, added in squares.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .axis import PER_MM, AxisFit, fit_axis
from .budget import LEAST_INDICATOR_SENSITIVITY, Budget, Component, combine
from .conditions import Conditions, Scatter, form_rows, reading_rows, setting_rows
from .quantity import OFFSET, RIGHT, SIZES, TILT, TILT_RIGHT, TILT_UP, TILTS, TIR, UP
from .repeats import RepeatedSweeps, average_sweeps
from .runout import oval_in_offset, run_out
from .sweep import SweepFit

# Sums of weights smaller than this share of them are what rounding left of zero.
ROUNDING = 1e-9
DIRECTIONS = {RIGHT: (1.0, 0.0), UP: (0.0, 1.0), TILT_RIGHT: (1.0, 0.0), TILT_UP: (0.0, 1.0)}


@dataclass(frozen=True, eq=False)
class SweepOutcome:
    """The figure an acceptance item asks for, in µm, or µm per stated length for a tilt.

    ``right_um``, ``up_um``: its parts. ``budget``: where its uncertainty comes from.
    ``planes``: the mean centre in each plane, near to far. ``axis``: None with one plane.
    ``least_um``: what a run-out is at least, whatever lies between the points; None for other
    figures. ``form_unknown``: the readings cannot show form and nobody stated it, so that no
    verdict can rest on the figure but that of ``least_um``.
    """

    value_um: float
    right_um: float
    up_um: float
    budget: Budget
    planes: tuple[RepeatedSweeps, ...] = ()
    axis: AxisFit | None = None
    least_um: float | None = None
    form_unknown: bool = False


def sweep_outcome(
    planes: Sequence[Sequence[SweepFit]],
    quantity: str,
    conditions: Conditions,
    *,
    z_mm=None,
    at_mm=None,
    per_mm: float = PER_MM,
) -> SweepOutcome:
    """The figure of sweeps round a bore or a boss.

    ``planes`` (p): the repeated sweeps of each plane, one at least. ``z_mm`` (p): where the
    planes stand, needed from two on. ``at_mm``: the plane for which an offset is asked; the
    middle of the planes unless given. ``per_mm``: the stated length of a tilt. Raises ValueError
    for a tilt from one plane, a TIR from several, and as ``fit_axis`` does.
    """
    means = tuple(average_sweeps(repeats) for repeats in planes)
    if quantity == TIR:
        return _tir(planes, means, conditions)
    if len(means) == 1:
        if quantity in TILTS:
            raise ValueError(
                "A tilt needs sweeps in at least two planes; there is one. Add a plane."
            )
        return _from_planes(planes, means, None, np.eye(2), np.zeros(2), quantity, conditions)
    axis = fit_axis(z_mm, means)
    weights = _axis_weights(axis, means)
    transfer = _transfer(axis, quantity, at_mm, per_mm)
    return _from_planes(
        planes, means, axis, transfer @ weights, axis.residuals_um, quantity, conditions
    )


def face_outcome(
    repeats: Sequence[SweepFit],
    quantity: str,
    conditions: Conditions,
    radius_mm: float,
    per_mm: float = PER_MM,
) -> SweepOutcome:
    """Squareness of a face from axial sweeps on a circle of ``radius_mm``, per ``per_mm``.

    The indicator turns with the spindle and reads plus when the face pushes its plunger in; a
    sweep's sag is the sag's effect on an axial reading. Raises ValueError for a quantity that is
    no tilt.
    """
    if quantity not in TILTS:
        raise ValueError(f"A face gives its tilt, not {quantity}.")
    means = (average_sweeps(repeats),)
    scaled = np.eye(2) * per_mm / radius_mm
    return _from_planes([repeats], means, None, scaled, np.zeros(2), quantity, conditions)


def _transfer(axis: AxisFit, quantity: str, at_mm, per_mm: float) -> np.ndarray:
    """(2, 4): from the axis' parameters to the vector asked for."""
    if quantity in TILTS:
        return np.hstack([np.zeros((2, 2)), per_mm / PER_MM * np.eye(2)])
    reach = 0.0 if at_mm is None else (float(at_mm) - axis.z_ref_mm) / PER_MM
    return np.hstack([np.eye(2), reach * np.eye(2)])


def _axis_weights(axis: AxisFit, means) -> np.ndarray:
    """(4, 2p): by how much each plane's centre counts in each parameter of the axis.

    Every plane counts alike, as on paper; one reading that scatters must not silence its plane.
    """
    reach = (axis.z_mm - axis.z_ref_mm) / PER_MM
    design = np.kron(np.column_stack([np.ones(len(reach)), reach]), np.eye(2))
    return np.linalg.lstsq(design, np.eye(2 * len(means)), rcond=None)[0]


def _from_planes(planes, means, axis, weights, residuals, quantity, conditions) -> SweepOutcome:
    """``weights`` (2, 2p): from the planes' centres to the vector asked for."""
    centres = np.array([[mean.right_um, mean.up_um] for mean in means]).ravel()
    vector = weights @ centres
    direction = _direction(vector, quantity)
    pull = (direction @ weights).reshape(-1, 2)  # (p, 2): what each centre does to the figure
    value = float(np.hypot(*vector)) if quantity in SIZES else float(vector @ direction)
    shift = _common_to_all(pull)
    rows = [
        *reading_rows(
            conditions,
            pooled_scatter(planes),
            noise=_noise(planes, pull),
            steady=_steady(planes, pull),
        ),
        *_repeatability(planes, pull),
        *_off_the_line(residuals, pull),
        *setting_rows(
            conditions,
            value,
            sag=abs(float(shift[1])) / 2,
            warm=float(np.hypot(*shift)),
        ),
        *form_rows((conditions.form_um or 0.0) / 2, _oval_taken(planes, pull)),
    ]
    unknown = conditions.form_um is None and any(fit.dof == 0 for own in planes for fit in own)
    return SweepOutcome(
        value,
        float(vector[0]),
        float(vector[1]),
        combine(rows),
        means,
        axis,
        form_unknown=unknown,
    )


def _oval_taken(planes, pull) -> float:
    """What an oval of amplitude one does to the figure at worst, each plane having its own."""
    taken = [max(oval_in_offset(fit.angles_deg) for fit in repeats) for repeats in planes]
    return float(np.linalg.norm(np.linalg.norm(pull, axis=1) * taken))


def _common_to_all(pull) -> np.ndarray:
    """What moving every plane alike does to the figure: nothing to a tilt, but for rounding."""
    shift = pull.sum(axis=0)
    return np.where(np.abs(shift) > ROUNDING * np.abs(pull).sum(), shift, 0.0)


def _direction(vector, quantity) -> np.ndarray:
    if quantity in DIRECTIONS:
        return np.array(DIRECTIONS[quantity])
    if quantity not in (OFFSET, TILT):
        raise ValueError(f"'{quantity}' is not a figure of a sweep.")
    size = np.hypot(*vector)
    return vector / size if size > 0 else np.array([0.0, 1.0])


def _spread(fit: SweepFit) -> np.ndarray:
    """Covariance (2, 2) of a centre for readings with an uncertainty of one."""
    theta = np.radians(fit.angles_deg)
    design = np.column_stack([np.ones(len(theta)), np.sin(theta), np.cos(theta)])
    return np.linalg.inv(design.T @ design)[1:, 1:]


def _noises(planes, pull) -> np.ndarray:
    """(p): each plane's share in the figure's uncertainty, for one sweep of it."""
    one = [np.mean([_spread(fit) for fit in repeats], axis=0) for repeats in planes]
    return np.sqrt([part @ spread @ part for part, spread in zip(pull, one, strict=True)])


def _noise(planes, pull) -> float:
    counts = np.array([len(repeats) for repeats in planes])
    return float(np.linalg.norm(_noises(planes, pull) / np.sqrt(counts)))


def _steady(planes, pull) -> float:
    """The indicator's own error repeats with its hand, so no more than two opposite readings
    count against it, however many there are."""
    least = LEAST_INDICATOR_SENSITIVITY * np.linalg.norm(pull, axis=1)
    return float(np.linalg.norm(np.maximum(_noises(planes, pull), least)))


def pooled_scatter(planes) -> Scatter:
    """What the readings of all sweeps leave over, taken together."""
    fits = [fit for repeats in planes for fit in repeats]
    dof = sum(fit.dof for fit in fits)
    squares = sum(float(np.sum(fit.residuals_um**2)) for fit in fits)
    explained = all(math.isinf(fit.dof_u) for fit in fits)
    return Scatter(math.sqrt(squares / dof) if dof else math.inf, float(dof), explained)


def _repeatability(planes, pull) -> list[Component]:
    """Scatter of one sweep's centre, pooled over the planes that were swept more than once."""
    squares, dof = 0.0, 0
    for repeats in planes:
        centres = np.array([[fit.right_um, fit.up_um] for fit in repeats])
        squares += float(np.sum((centres - centres.mean(axis=0)) ** 2))
        dof += 2 * (len(repeats) - 1)
    if dof == 0 or squares == 0:
        return []
    counts = np.array([len(repeats) for repeats in planes])
    effect = float(np.linalg.norm(np.linalg.norm(pull, axis=1) / np.sqrt(counts)))
    return [Component("repeatability", math.sqrt(squares / dof), float(dof), effect)]


def _off_the_line(residuals, pull) -> list[Component]:
    """What three planes or more show beyond a straight axis."""
    dof = 2 * len(pull) - 4
    squares = float(np.sum(np.square(residuals)))
    if dof <= 0 or squares == 0:
        return []
    effect = float(np.linalg.norm(pull))
    return [Component("planes off one line", math.sqrt(squares / dof), float(dof), effect)]


def _tir(planes, means, conditions) -> SweepOutcome:
    if len(planes) > 1:
        raise ValueError("A total indicator reading is taken in one plane; leave the others out.")
    (fits,), (mean,) = planes, means
    runs = [run_out(fit, conditions.form_um, conditions.reading_u_um) for fit in fits]
    values = np.array([run.value_um for run in runs])
    value, count = float(values.mean()), len(fits)
    beyond = max(run.beyond_um for run in runs)
    scatter = pooled_scatter(planes)
    # What no offset explains is part of a run-out; it stands for the readings only where
    # nothing else is known of them.
    if conditions.reading_u_um > 0 and conditions.typed_u_um == 0:
        scatter = Scatter(0.0, 0.0, True)
    rows = reading_rows(
        conditions, scatter, noise=math.sqrt(2 / count), steady=math.sqrt(2)
    ) + setting_rows(conditions, value, sag=1.0, warm=0.0)
    if count > 1 and np.ptp(values) > 0:
        scattered = float(values.std(ddof=1))
        rows.append(Component("repeatability", scattered, count - 1.0, 1 / math.sqrt(count)))
    return SweepOutcome(
        value,
        mean.right_um,
        mean.up_um,
        combine(rows + form_rows(beyond)),
        means,
        least_um=float(np.mean([run.seen_um for run in runs])),
        form_unknown=math.isinf(beyond),
    )
