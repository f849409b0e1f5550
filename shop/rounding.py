"""How finely a figure is shown: by how surely it is known and what it is held against.

Pure; lengths in micrometres, as `shop.lengths` has them.
"""

import math
from decimal import Decimal

from .lengths import UM_PER_UNIT, UNITS, USUAL_PLACES, format_length

# No length is shown finer than a hundredth of a micrometre, or a micro-inch.
FINEST_PLACES = {"in": 6, "mm": 5, "um": 2}


def places_for(unit, *, u_um=None, tolerance_um=None):
    """The decimals a length is shown with in ``unit`` ("in", "mm" or "um").

    u_um: its expanded uncertainty; the figure ends where that has its first digit, after GUM
    (JCGM 100:2008) 7.2.6: no more digits than the uncertainty lets stand. tolerance_um: what it is
    held against; the figure never ends before the tolerance's first digit, or it could not be
    compared, and where no uncertainty is known it ends one place below that (common practice, no
    source). Each may be None, zero or not finite for not known; with neither, the unit's usual
    places.
    """
    by_u = _first_digit(u_um, unit)
    by_tolerance = _first_digit(tolerance_um, unit)
    if by_u is None and by_tolerance is None:
        return USUAL_PLACES[unit]
    if by_u is None:
        places = by_tolerance + 1
    else:
        places = by_u if by_tolerance is None else max(by_tolerance, by_u)
    return min(max(places, 0), FINEST_PLACES[unit])


def rounded(value_um, unit, *, u_um=None, tolerance_um=None, signed=False, with_unit=True):
    """A figure as text, as finely as `places_for` says; "not known" for None or what is not finite.

    Raises ValueError for an unknown unit.
    """
    if value_um is None or not math.isfinite(value_um):
        return "not known"
    places = places_for(unit, u_um=u_um, tolerance_um=tolerance_um)
    return format_length(value_um, unit, places=places, signed=signed, with_unit=with_unit)


def stated_in(lengths_um):
    """The unit, "in" or "mm", that lengths were stated in: the one that writes them with fewer
    digits; None where that does not tell, as for none at all.

    0.0004 in is 0.01016 mm, and 0.01 mm has no end in inches.
    """
    digits = {"in": 0, "mm": 0}
    for um in lengths_um:
        for unit in digits:
            digits[unit] += _digits(um, unit)
    if digits["in"] == digits["mm"]:
        return None
    return min(digits, key=digits.get)


def _digits(um, unit):
    """How many digits write a length in a unit; many where they have no end."""
    scaled = Decimal(um) / UM_PER_UNIT[unit]
    return len(scaled.normalize().as_tuple().digits)


def _first_digit(um, unit):
    """The place of a size's first digit, counted in decimals of ``unit``; None for no size."""
    if unit not in UNITS:
        raise ValueError(f"The unit of a length is in, mm or um, not {unit!r}.")
    if um is None or not math.isfinite(um) or not um:
        return None
    size = abs(float(um)) / float(UM_PER_UNIT[unit])
    # 0.01 as a float may lie just below a hundredth; rounding its digits first holds the place.
    return -int(f"{size:.6e}".partition("e")[2])
