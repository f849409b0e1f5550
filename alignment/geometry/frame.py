"""From a dial's view into the machine's frame, and back; nothing else does this.

The machine's frame is what a person standing at the machine has in front of him, whichever way
an indicator looked: front is the operator's side, up is up, and away is away from the headstock.
Seen from above, with the headstock at the operator's left:

                          rear
          +-----------+
          | headstock |====>  away from the headstock        +------+
          +-----------+                                      |      |
                          front                              +------+
                        (operator)

    looking away from the headstock        looking towards the headstock
                  up                                    up
                  |                                     |
          rear ---+--- front                   front ---+--- rear
                  |                                     |
                 down                                  down

A headstock at the operator's right swaps front and rear in both views.

The dial's view: (right, up) of the swept surface from the axis the indicator turns on, in µm,
and how much of it there is per length the further from the indicator. The frame: (front, up) of
*the station* from its datum in µm, and how much of it per length the further from the headstock.
An indicator in the datum sweeps the station; one in the station sweeps the datum, and the station
then stands as far off the other way. Source: geometry alone.
"""

from __future__ import annotations

import numpy as np

# Where the indicator sits, which way it looks, at which hand of the operator the headstock
# stands: the values that the records keep.
IN_DATUM, IN_STATION = "datum", "station"
LOOKS_AWAY, LOOKS_TOWARDS = "from the headstock", "to the headstock"
LEFT, RIGHT = "left", "right"

# Where an axis' plus may point, and where something may be moved.
FRONT, REAR, UP, DOWN, TOWARDS, AWAY = "front", "rear", "up", "down", "towards", "away"
OPPOSITE = {FRONT: REAR, REAR: FRONT, UP: DOWN, DOWN: UP, TOWARDS: AWAY, AWAY: TOWARDS}

_HOLDERS = {IN_DATUM: 1.0, IN_STATION: -1.0}
_LOOKS = {LOOKS_AWAY: 1.0, LOOKS_TOWARDS: -1.0}
_SIDES = {LEFT: 1.0, RIGHT: -1.0}


def side_of_front(look: str, headstock_side: str) -> str:
    """The hand, "right" or "left", at which front lies in the dial's view.

    Raises ValueError, as all here do, for a look or a side that is none.
    """
    return RIGHT if _hand(look, headstock_side) > 0 else LEFT


def to_frame(right_um, up_um, holder: str, look: str, headstock_side: str):
    """(front_um, up_um) of the station from its datum, of a swept centre in the dial's view.

    Numbers or arrays alike; a zero keeps no sign.
    """
    front, up, _, _ = frame_signs(holder, look, headstock_side)
    return front * right_um + 0.0, up * up_um + 0.0


def to_dial(front_um, up_um, holder: str, look: str, headstock_side: str):
    """(right_um, up_um) that the dial shows of a station standing at (front_um, up_um)."""
    # Each direction keeps its sign or changes it, so the way back is the way there.
    return to_frame(front_um, up_um, holder, look, headstock_side)


def lean_to_frame(right_um, up_um, holder: str, look: str, headstock_side: str):
    """(front_um, up_um) by which the station's axis leans from its datum's, going away from the
    headstock, per the length that the dial's slopes are for, going away from the indicator."""
    _, _, front, up = frame_signs(holder, look, headstock_side)
    return front * right_um + 0.0, up * up_um + 0.0


def lean_to_dial(front_um, up_um, holder: str, look: str, headstock_side: str):
    """The way back from `lean_to_frame`."""
    return lean_to_frame(front_um, up_um, holder, look, headstock_side)


def frame_signs(holder: str, look: str, headstock_side: str) -> np.ndarray:
    """(4) signs that turn a dial's (right, up, slope right, slope up) into the frame's, and back.

    The diagonal matrix of them turns a covariance. Slopes towards an indicator that looks at the
    headstock run the other way along the machine, so there they change sign once more.
    """
    if holder not in _HOLDERS:
        raise ValueError(f"The indicator sits in the {' or the '.join(_HOLDERS)}, not in {holder}.")
    hand = _hand(look, headstock_side)
    along = _LOOKS[look]
    return _HOLDERS[holder] * np.array([hand, 1.0, hand * along, along])


def view_signs(look: str, headstock_side: str) -> np.ndarray:
    """The same for what is the station's own already, such as a way it was moved: (4) signs
    between right and front in one view."""
    return frame_signs(IN_DATUM, look, headstock_side)


def _hand(look: str, headstock_side: str) -> float:
    if look not in _LOOKS:
        raise ValueError(f"The indicator looks {' or '.join(_LOOKS)}, not {look!r}.")
    if headstock_side not in _SIDES:
        raise ValueError(
            f"The headstock stands at the operator's {' or '.join(_SIDES)}, not {headstock_side!r}."
        )
    return _LOOKS[look] * _SIDES[headstock_side]
