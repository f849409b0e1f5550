"""Which of a station's figures the picture of its machine shows, and in what words."""

from alignment.figures.machine import EndView
from alignment.geometry.drift.tolerance import offset_allowed_um
from alignment.geometry.measure.quantity import FRONT, OFFSET, TIR, UP
from alignment.sheets.directions import place_words
from alignment.sheets.formatting import length, limits, measure

# What tells best where an axis stands, first.
TELLING = (OFFSET, TIR, FRONT, UP)


def telling(state):
    """The `ItemState`s of a station that say where its axis stands: one of an offset, or those of
    both ways; else the first line measured. Empty where nothing is on the sheet."""
    offsets = [
        one for one in state.items if one.item.quantity in TELLING and not one.item.closes_a_loop
    ]
    if not offsets:
        measured = [one for one in state.items if one.newest] or list(state.items)
        return measured[:1]
    first = min(offsets, key=lambda one: (TELLING.index(one.item.quantity), not one.newest))
    if first.item.quantity in (OFFSET, TIR):
        return [first]
    ways = {one.item.quantity: one for one in reversed(offsets)}
    return [ways[way] for way in (FRONT, UP) if way in ways]


def end_view(state):
    """The `EndView` of a `StationState`; None where its sheet asks for nothing."""
    found = telling(state)
    if not found:
        return None
    quantity = found[0].item.quantity
    if state.is_datum_of_all or quantity not in TELLING:
        return _size(found[0])
    if quantity in (OFFSET, TIR):
        return _ring(found[0])
    return _ways(found)


def _size(one):
    """What has no direction: the run-out of a spindle, a tilt."""
    held = one.newest or one.item
    ends = [abs(float(um)) for um in held.limits_um if um is not None]
    size = abs(one.newest.told_um) if one.newest else None
    return EndView(size_um=size, ring_um=max(ends, default=None))


def _ring(one):
    held = one.newest or one.item
    ring = offset_allowed_um(one.item.quantity, *held.limits_um)
    front, up = one.newest.stands_um if one.newest else (None, None)
    return EndView(front, up, ring)


def _ways(found):
    """Each way by a line of its own, of which one may be missing."""
    stands, limits_of = {}, {}
    for one in found:
        held = one.newest or one.item
        way = one.item.quantity
        limits_of[way] = tuple(None if um is None else float(um) for um in held.limits_um)
        stands[way] = one.newest.told_um if one.newest else None
    none = (None, None)
    return EndView(
        stands.get(FRONT),
        stands.get(UP),
        front_limits_um=limits_of.get(FRONT, none),
        up_limits_um=limits_of.get(UP, none),
    )


def told(state, unit):
    """The lines below an end view: where the axis stands, what the ring is, and the line of the
    sheet that asks most where that is another one."""
    found, view = telling(state), end_view(state)
    lines = []
    if view is not None and view.was_measured:
        lines.append(_stands(found, view, unit))
    if view is not None and view.ring_um is not None:
        lines.append(f"ring {length(view.ring_um, unit)}")
    elif held := [limits(one.newest or one.item, unit) for one in found if one.item.has_limit]:
        lines.append(f"limits {', '.join(held)}")
    foremost = state.foremost
    if foremost is not None and foremost not in found and foremost.newest:
        lines.append(f"{foremost.item.name}: {_measured(foremost, unit)}")
    return tuple(lines)


def _stands(found, view, unit):
    if view.size_um is not None:
        return f"{found[0].item.name} {_measured(found[0], unit)}"
    return place_words(view.front_um, view.up_um, unit) or "true"


def _measured(one, unit):
    return measure(one.newest.told_um, unit, one.newest)
