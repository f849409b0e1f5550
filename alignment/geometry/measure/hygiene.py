"""What looks wrong with a sweep before anybody acts on it, and what to do about it.

A warning never changes a figure and never refuses one; it is shown beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import special

from alignment.geometry.arrays import finite_array
from machines.engineering.inputs import finite, positive

from .sweep import SweepFit

# Without a stated uncertainty a sweep should close to this part of its TIR (common practice, no
# source).
CLOSING_PART = 0.25
COVERAGE = 2.0
# One reading is called odd at this level for the whole sweep, shared out among its readings.
ODD_LEVEL = 0.05
# A mirror image is named when the offset lies this much nearer to it than to what was expected.
MIRROR_PART = 0.25

Show = Callable[[float], str]


@dataclass(frozen=True)
class SweepWarning:
    """``code`` is stable; ``sentence`` says what is seen, ``what_to_do`` the next step.

    ``amount_um`` is the length the sentence names, ``angle_deg`` the reading it is about.
    """

    code: str
    sentence: str
    what_to_do: str
    amount_um: float
    angle_deg: float | None = None


def in_micrometres(length_um: float) -> str:
    return f"{length_um:.1f} µm"


def sweep_warnings(
    fit: SweepFit,
    *,
    tolerance_um: float | None = None,
    sag_um: float = 0.0,
    reading_u_um: float = 0.0,
    expected_um=None,
    show: Show = in_micrometres,
) -> tuple[SweepWarning, ...]:
    """All warnings on one sweep, the gravest first; empty when nothing looks wrong.

    ``tolerance_um``: the acceptance item's, for an offset. ``sag_um`` and ``reading_u_um``: as
    given to ``fit_sweep``. ``expected_um``: (right, up) where the station was last left or was
    foretold to stand, for noticing a mirror image. ``show`` writes a length for the sentences, in
    the reader's unit. Raises ValueError for figures that are not finite or no tolerance.
    """
    stated = finite(reading_u_um, "The uncertainty of a reading")
    if tolerance_um is not None:
        tolerance_um = positive(tolerance_um, "The tolerance", "µm")
    found = [
        _mirror_image(fit, expected_um),
        _odd_reading(fit, stated, show),
        _not_closing(fit, stated, show),
        _form_beyond_offset(fit, stated, show),
        _sag_beyond_tolerance(finite(sag_um, "The sag"), tolerance_um, show),
    ]
    return tuple(warning for warning in found if warning is not None)


def studentised_residuals(fit: SweepFit) -> np.ndarray | None:
    """Externally studentised residuals (n), each against the scatter of the other readings.

    None with fewer than five readings, which leave none to spare. A reading that all others
    agree against without any scatter is infinite. Source: Cook and Weisberg, Residuals and
    Influence in Regression (1982), 2.2, from memory.
    """
    if fit.dof < 2:
        return None
    free = 1 - _leverage(fit)
    residuals = np.where(free > 1e-9, fit.residuals_um, 0.0)
    free = np.where(free > 1e-9, free, 1.0)
    others = np.sum(residuals**2) - residuals**2 / free
    # What the subtraction above leaves of its digits: less than this is no scatter.
    tiny = 1e-6 * float(np.ptp(fit.corrected_um))
    scatter = np.sqrt(np.maximum(others, 0.0) / (fit.dof - 1))
    sure = np.where(np.abs(residuals) > tiny, np.copysign(np.inf, residuals), 0.0)
    usable = np.where(scatter > tiny, scatter, 1.0)
    return np.where(scatter > tiny, residuals / usable / np.sqrt(free), sure)


def _leverage(fit: SweepFit) -> np.ndarray:
    """How much each reading pulls the fit towards itself, 0 to 1."""
    theta = np.radians(fit.angles_deg)
    columns = np.linalg.qr(np.column_stack([np.ones(len(theta)), np.sin(theta), np.cos(theta)]))[0]
    return np.sum(columns**2, axis=1)


def _odd_reading(fit: SweepFit, stated: float, show: Show) -> SweepWarning | None:
    studentised = studentised_residuals(fit)
    if studentised is None:
        return None
    worst = int(np.argmax(np.abs(studentised)))
    limit = special.stdtrit(fit.dof - 1, 1 - ODD_LEVEL / (2 * len(studentised)))
    # How far it lies from where the other readings alone would put it.
    away = float(fit.residuals_um[worst] / (1 - _leverage(fit)[worst]))
    if abs(studentised[worst]) <= limit or abs(away) <= COVERAGE * stated:
        return None
    angle = float(fit.angles_deg[worst])
    return SweepWarning(
        "one reading disagrees",
        f"The reading at {angle:g}° stands {show(abs(away))} {'above' if away > 0 else 'below'} "
        "where the others put it.",
        "Wipe the surface, read that position again and look at the sign that was typed.",
        away,
        angle,
    )


def _not_closing(fit: SweepFit, stated: float, show: Show) -> SweepWarning | None:
    if fit.closure_um is None:
        return None
    # Four readings make the closure, so its standard uncertainty is twice that of one.
    allowed = COVERAGE * 2 * stated if stated > 0 else CLOSING_PART * fit.tir_um
    if abs(fit.closure_um) <= max(allowed, 1e-9):
        return None
    return SweepWarning(
        "does not close",
        f"Top and bottom differ from right and left by {show(abs(fit.closure_um))}; "
        "for a round surface they add up to the same.",
        "Go back to the zero: if the dial does not return there, something is loose or touches. "
        "If it does, the surface is out of round; sweep eight points.",
        fit.closure_um,
    )


def _form_beyond_offset(fit: SweepFit, stated: float, show: Show) -> SweepWarning | None:
    if fit.form_um <= fit.offset_um or fit.form_um <= max(2 * COVERAGE * stated, 1e-9):
        return None
    return SweepWarning(
        "form beyond offset",
        f"What is left over, {show(fit.form_um)} from peak to valley, is more than the offset "
        f"of {show(fit.offset_um)}.",
        "Look for dirt, burrs and an out-of-round surface before moving anything; "
        "sweep another plane or more points.",
        fit.form_um,
    )


def _sag_beyond_tolerance(sag, tolerance, show: Show) -> SweepWarning | None:
    if tolerance is None or abs(sag) <= tolerance:
        return None
    return SweepWarning(
        "sag beyond tolerance",
        f"The indicator's sag of {show(abs(sag))} is more than the tolerance of "
        f"{show(tolerance)}; an error in the sag check would decide the verdict.",
        "Use a shorter or stiffer holder and repeat the sag check.",
        sag,
    )


def _mirror_image(fit: SweepFit, expected_um) -> SweepWarning | None:
    if expected_um is None:
        return None
    right, up = finite_array(expected_um, "expected offset")
    found = np.array([fit.right_um, fit.up_um])
    miss = np.hypot(*(found - [right, up]))
    for code, image, sentence, what_to_do in _images(right, up, fit.surface):
        near = np.hypot(*(found - image))
        apart = np.hypot(*(image - [right, up]))
        clear = np.isfinite(fit.u_offset_um) and miss > 2 * COVERAGE * fit.u_offset_um
        if clear and apart > 0 and near <= MIRROR_PART * miss:
            return SweepWarning(code, sentence, what_to_do, float(miss))
    return None


def _images(right: float, up: float, surface: str):
    other = "boss" if surface == "bore" else "bore"
    yield (
        "signs reversed",
        np.array([-right, -up]),
        "The offset is the one expected with both signs turned round, as if readings of a "
        f"{other} had been entered for a {surface}.",
        f"Look whether the surface swept was a {other}, and whether the dial reads plus when its "
        "plunger is pushed in.",
    )
    yield (
        "right and left swapped",
        np.array([-right, up]),
        "The offset is the one expected with right and left swapped, as if the sweep had gone "
        "anticlockwise or was seen from the other side.",
        "Look from the indicator's side at the surface and go clockwise from the top.",
    )
    yield (
        "top and bottom swapped",
        np.array([right, -up]),
        "The offset is the one expected with top and bottom swapped.",
        "Look where the sweep began: 0° is at the top.",
    )
