"""How far a figure moved between two checks, and how surely."""

from __future__ import annotations

import math
from dataclasses import dataclass

from alignment.geometry.vectors import region_factor

from .quantity import OFFSET, TILT
from .verdict import USUAL_PROBABILITY, coverage_factor, dof_of

# What is measured as a size has a direction too: its change is that of the vector.
VECTORS = frozenset({OFFSET, TILT})


@dataclass(frozen=True)
class Figured:
    """What a check says: the figure in µm and its parts to the front and up, with the standard
    uncertainty u, None where it is not known, and the factor k that expands it to 95.45 %."""

    value_um: float
    front_um: float
    up_um: float
    u_um: float | None
    coverage: float


@dataclass(frozen=True)
class Difference:
    """Later less earlier, in µm.

    ``value_um``: how far the figure moved, with its sign; for an offset or a tilt the length of
    the way its end went, ``front_um`` and ``up_um``. ``u_um`` and ``expanded_um`` are None where
    either check's is not known. What did not move stays below ``expanded_um`` in 95.45 %: of a
    figure by its size, of a vector by its length, which is longer by chance alone.
    """

    value_um: float
    front_um: float
    up_um: float
    u_um: float | None
    expanded_um: float | None

    @property
    def proven(self) -> bool | None:
        """Whether it moved by more than the expanded uncertainty; None where that is not known."""
        return None if self.expanded_um is None else abs(self.value_um) > self.expanded_um


def difference(earlier: Figured, later: Figured, quantity: str) -> Difference:
    """How far a figure moved from one check to another.

    The two count as independent, so their uncertainties add in squares (JCGM 100:2008, 5.1.2), with
    Welch and Satterthwaite's degrees of freedom; what one indicator does wrong both times is then
    counted twice, on the safe side.
    """
    front = later.front_um - earlier.front_um
    up = later.up_um - earlier.up_um
    vector = quantity in VECTORS
    u = _in_squares(earlier.u_um, later.u_um)
    return Difference(
        value_um=math.hypot(front, up) if vector else later.value_um - earlier.value_um,
        front_um=front,
        up_um=up,
        u_um=u,
        expanded_um=None if u is None else u * _factor(earlier, later, u, vector),
    )


def _factor(earlier, later, u, vector) -> float:
    """What ``u`` is multiplied by: on a line by Student's t, in the plane by the circle."""
    fourth = sum((one.u_um / u) ** 4 / dof_of(one.coverage) for one in (earlier, later) if one.u_um)
    dof = 1 / fourth if fourth else math.inf
    if vector:
        return math.sqrt(region_factor(dof, USUAL_PROBABILITY))
    return coverage_factor(max(dof, 1.0))


def _in_squares(one, other):
    return None if one is None or other is None else math.hypot(one, other)
