"""A test bar in the spindle, and the indicator travelling along it on the machine's own slide.

Turning the bar by half a turn in the spindle reverses the bar's own error and leaves the
machine's: half the sum of the readings is the machine, half the difference the bar (reversal,
ISO 230-1). What does not turn with the bar, such as its bending under its own weight, stays with
the machine.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from alignment.geometry.arrays import finite_array
from machines.engineering.inputs import not_negative, positive

from .axis import SAME_PLANE_MM
from .scatter import reading_uncertainty

SIDES = {"right": 1.0, "left": -1.0}


@dataclass(frozen=True, eq=False)
class TravelLine:
    """The travel against the bar's axis in one direction, at n positions.

    ``machine_um`` (n): bar axis off the travel, zero at the first position; plus is up, or to
    the right. ``slope_um``: rise of the least-squares line per stated length, ``u_slope_um`` its
    standard uncertainty with ``dof_u`` degrees of freedom (infinite with 0 when unknown).
    ``straightness_um``: peak to valley about the line, None with two positions.
    ``bar_um`` (n): the bar's axis from the spindle's, None unless the bar was turned.
    """

    machine_um: np.ndarray
    slope_um: float
    u_slope_um: float
    dof_u: float
    straightness_um: float | None
    bar_um: np.ndarray | None


@dataclass(frozen=True, eq=False)
class BarCheck:
    """Parallelism of travel and spindle axis in both planes.

    ``per_mm``: the stated length of the slopes. ``runout_near_um`` and ``runout_far_um``: total
    indicator reading of the bar as it turns, at its first and last position; None unless
    ``separated``, that is unless the bar was turned. Not separated, the slopes hold the bar's
    own error too.
    """

    z_mm: np.ndarray
    per_mm: float
    up: TravelLine
    right: TravelLine
    separated: bool
    runout_near_um: float | None
    runout_far_um: float | None


def check_bar(
    z_mm,
    top_um,
    side_um,
    top_turned_um=None,
    side_turned_um=None,
    *,
    z_turned_mm=None,
    side="right",
    per_mm=100.0,
    reading_u_um=0.0,
) -> BarCheck:
    """Work out readings along a test bar at ``z_mm`` (n), growing towards the bar's free end.

    ``top_um`` (n): indicator on top of the bar; ``side_um`` (n): on its ``side``, "right" or
    "left" in the machine's own view. The ``..._turned_um`` (n) are read with the bar turned by
    180° in the spindle and the dial not set to zero again; give both or neither.
    ``z_turned_mm`` (n): where they were read, when noted. ``reading_u_um``: standard
    uncertainty of one reading, used as in ``fit_sweep``.

    Raises ValueError for fewer than two positions, a position twice, unequal numbers of
    readings, one turned plane without the other, or a bar turned at different positions.
    """
    if side not in SIDES:
        raise ValueError(f"The side of the bar is right or left, not {side!r}.")
    z = _positions(z_mm)
    length = positive(per_mm, "The stated length", "mm")
    stated = not_negative(reading_u_um, "The uncertainty of a reading", "µm")
    turned = _turned_pair(top_turned_um, side_turned_um)
    if turned and z_turned_mm is not None:
        _same_positions(z, z_turned_mm)
    up = _line(z, "top", top_um, top_turned_um, length, stated, 1.0)
    right = _line(z, "side", side_um, side_turned_um, length, stated, SIDES[side])
    near, far = _runout(up, right) if turned else (None, None)
    return BarCheck(z, length, up, right, turned, near, far)


def _positions(z_mm) -> np.ndarray:
    z = finite_array(z_mm, "positions along the bar")
    if len(z) < 2:
        raise ValueError("A bar must be read at two positions at least.")
    if np.any(np.diff(z) < SAME_PLANE_MM):
        raise ValueError(
            "The positions along the bar must grow towards its free end, each standing once."
        )
    return z


def _turned_pair(top_turned, side_turned) -> bool:
    if (top_turned is None) != (side_turned is None):
        raise ValueError(
            "The turned bar was read in one plane only; read top and side, or neither."
        )
    return top_turned is not None


def _same_positions(z: np.ndarray, z_turned_mm) -> None:
    turned = finite_array(z_turned_mm, "positions along the turned bar")
    if len(turned) != len(z) or np.any(np.abs(turned - z) > SAME_PLANE_MM):
        raise ValueError(
            "The turned bar was read at other positions than before; reversal needs the same ones."
        )


def _readings(values, count: int, what: str) -> np.ndarray:
    readings = finite_array(values, f"{what} readings")
    if len(readings) != count:
        raise ValueError(f"There are {count} positions but {len(readings)} {what} readings.")
    return readings


def _line(z, what, plain_um, turned_um, per_mm, stated, sign) -> TravelLine:
    plain = sign * _readings(plain_um, len(z), what)
    if turned_um is None:
        machine, bar, u = plain, None, stated
    else:
        turned = sign * _readings(turned_um, len(z), f"turned {what}")
        # The mean of two readings is surer by the root of two.
        machine, bar, u = (plain + turned) / 2, (plain - turned) / 2, stated / np.sqrt(2)
    slope, residuals = _straight_line(z, machine)
    u_machine, dof_u = reading_uncertainty(residuals[None], len(z) - 2, np.array([u]))
    reach = np.sqrt(np.sum((z - z.mean()) ** 2))
    return TravelLine(
        machine_um=machine - machine[0],
        slope_um=float(slope * per_mm),
        u_slope_um=float(u_machine[0] / reach * per_mm),
        dof_u=float(dof_u[0]),
        straightness_um=float(np.ptp(residuals)) if len(z) > 2 else None,
        bar_um=bar,
    )


def _straight_line(z: np.ndarray, values: np.ndarray) -> tuple[float, np.ndarray]:
    """Slope per mm of the least-squares line, and what is left over."""
    from_middle = z - z.mean()
    slope = float(from_middle @ values / (from_middle @ from_middle))
    return slope, values - values.mean() - slope * from_middle


def _runout(up: TravelLine, right: TravelLine) -> tuple[float, float]:
    """Twice the bar's eccentricity at its first and its last position."""
    sizes = 2 * np.hypot(up.bar_um, right.bar_um)
    return float(sizes[0]), float(sizes[-1])
