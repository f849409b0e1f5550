"""From an axis as a kind tells it to the fields of an `Axis` on record, and back."""

from shop.paper.drawing import listed

from .shape import KindAxis

UNSAID = "none"
LONGEST_MOVES = 80


def axis_fields(axis, kind):
    """The fields of an `Axis` but its machine, for an axis of a kind."""
    moves = axis.says or listed(kind.station(key).name for key in axis.moves)
    return {"name": axis.name, "moves": moves[:LONGEST_MOVES], "plus": axis.plus or UNSAID}


def kind_axis(axis, moves):
    """An `Axis` on record as a kind tells it; moves: the keys of the stations that it moves."""
    plus = "" if axis.plus == UNSAID else axis.plus
    return KindAxis(name=axis.name, moves=tuple(moves), plus=plus, says=axis.moves)


def control_settings(key, kind):
    """The settings of a way of adjusting at the control, from the axes that move a station; {}
    where none of them points sideways or up."""
    toward = {"front": ("front", 1), "rear": ("front", -1), "up": ("up", 1), "down": ("up", -1)}
    settings = {}
    for axis in kind.axes:
        if key in axis.moves and axis.plus in toward:
            side, sign = toward[axis.plus]
            settings.setdefault(side, {"letter": axis.name, "sign": sign, "diameter": False})
    return settings
