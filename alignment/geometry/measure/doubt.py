"""Readings that are more likely a slip of unit than a figure: asked about before they count."""

import math

# A figure this many times both its tolerance and what it last was is asked about; a thousand
# times is a slip from millimetres to micrometres. Common practice, no source.
MUCH = 10.0
# Read in another unit it is likely where it comes to between this and `MUCH` times what is usual.
LITTLE = 0.02


def usual_um(tolerance_um, last_um):
    """What is usual of a figure: the larger of its tolerance and what it last was, in µm.

    Each may be None for not known; None where neither is, or both are zero.
    """
    known = [abs(um) for um in (tolerance_um, last_um) if um is not None and math.isfinite(um)]
    return max(known, default=0.0) or None


def doubtful(values_um, *, usual, range_um=None):
    """The places of readings that no dial could show, or that are out of all proportion.

    values_um: the readings of one sweep, in µm; a place may be None for not typed yet. usual: see
    `usual_um`; range_um: the whole travel of the dial; each None for not known. A dial need not
    stand at zero, so what counts is how far a reading lies from that nearest zero. Empty for fewer
    than two readings, except of what lies beyond the range.
    """
    typed = [um for um in values_um if um is not None]
    if not typed:
        return ()
    base = min(typed, key=abs)
    most = math.inf if usual is None else MUCH * usual
    return tuple(
        place
        for place, um in enumerate(values_um)
        if um is not None
        and (abs(um - base) > most or (range_um is not None and _beyond(um, base, range_um)))
    )


def _beyond(um, base, range_um):
    return abs(um) > range_um or abs(um - base) > range_um


def likely(number, um_per_unit, *, usual):
    """Of names to µm per unit, those in which `number` would be a usual size, the order kept.

    Empty where nothing is usual.
    """
    if usual is None:
        return []
    return [
        name
        for name, per_unit in um_per_unit.items()
        if LITTLE * usual <= abs(number) * per_unit <= MUCH * usual
    ]
