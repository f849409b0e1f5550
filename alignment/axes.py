"""What the machine itself calls right and up in the view at a swept surface."""

from dataclasses import dataclass

from machines.models import Axis

OPPOSITE = {Axis.View.LEFT: Axis.View.RIGHT, Axis.View.DOWN: Axis.View.UP}


@dataclass(frozen=True)
class AxisNames:
    """Names with their sign, such as "X1+"; empty where no axis points that way."""

    right: str = ""
    up: str = ""

    @property
    def right_word(self):
        return self.right or "right"

    @property
    def up_word(self):
        return self.up or "up"


def axis_names(station, axes):
    """The `AxisNames` for a station, from its machine's axes.

    An axis that moves the station by name goes before the machine's others; where several point
    the same way all are named, so that nobody has to guess which one is meant.
    """
    words = {station.name.casefold(), station.get_kind_display().casefold()}
    own = [axis for axis in axes if any(word in axis.moves.casefold() for word in words)]
    return AxisNames(
        right=_pointing(Axis.View.RIGHT, own) or _pointing(Axis.View.RIGHT, axes),
        up=_pointing(Axis.View.UP, own) or _pointing(Axis.View.UP, axes),
    )


def _pointing(view, axes):
    names = [
        f"{axis.name}{'+' if axis.view == view else '−'}"
        for axis in axes
        if OPPOSITE.get(axis.view, axis.view) == view
    ]
    return "/".join(names)
