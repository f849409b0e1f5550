"""From an axis as a kind tells it to the fields of an `Axis` on record, and back."""

from shop.drawing import listed

from .shape import KindAxis

# Looking away from a headstock on the operator's left, right is front; on the right, rear.
VIEWS = {
    "left": {"front": "right", "rear": "left", "up": "up", "down": "down",
             "towards": "along", "away": "along", "": "none"},
    "right": {"front": "left", "rear": "right", "up": "up", "down": "down",
              "towards": "along", "away": "along", "": "none"},
}  # fmt: skip
LONGEST_MOVES = 80


def axis_fields(axis, kind):
    """The fields of an `Axis` but its machine, for an axis of a kind."""
    moves = axis.says or listed(kind.station(key).name for key in axis.moves)
    view = VIEWS[kind.headstock_side][axis.plus]
    return {"name": axis.name, "moves": moves[:LONGEST_MOVES], "view": view}


def kind_axis(axis, stations, side="left"):
    """An `Axis` on record as a kind tells it; stations: those of its machine.

    The record does not say which way along the spindle plus points; "away" stands for both.
    """
    plus = {view: word for word, view in reversed(VIEWS[side].items())} | {"along": "away"}
    said = axis.moves.casefold()
    moves = tuple(one.name for one in stations if one.name.casefold() in said)
    return KindAxis(name=axis.name, moves=moves, plus=plus[axis.view], says=axis.moves)


def control_settings(key, kind):
    """The settings of a way of adjusting at the control, from the axes that move a station; {}
    where none of them points sideways or up."""
    toward = {"right": ("right", 1), "left": ("right", -1), "up": ("up", 1), "down": ("up", -1)}
    settings = {}
    for axis in kind.axes:
        view = VIEWS[kind.headstock_side][axis.plus]
        if key in axis.moves and view in toward:
            side, sign = toward[view]
            settings.setdefault(side, {"letter": axis.name, "sign": sign, "diameter": False})
    return settings
