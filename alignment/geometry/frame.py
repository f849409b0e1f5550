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

from dataclasses import dataclass

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


@dataclass(frozen=True)
class View:
    """How one dial looks at one station: the settings of the functions below, held together."""

    holder: str
    look: str
    headstock_side: str

    @property
    def settings(self) -> tuple[str, str, str]:
        return self.holder, self.look, self.headstock_side

    @property
    def front_at(self) -> str:
        """The hand at which front lies in it."""
        return side_of_front(self.look, self.headstock_side)

    @property
    def hand(self) -> float:
        """+1 where front is at the right in it, −1 where it is at the left."""
        return 1.0 if self.front_at == RIGHT else -1.0

    @property
    def along(self) -> float:
        """+1 where further from the indicator is further from the headstock, else −1."""
        return _LOOKS[self.look]

    @property
    def signs(self) -> np.ndarray:
        """(4), as of `frame_signs`."""
        return frame_signs(*self.settings)

    def dial_shift(self, front_um, up_um, lean_front_um, lean_up_um, reach_mm) -> tuple:
        """(right_um, up_um) by which the swept centre goes in a plane ``reach_mm`` further from
        the indicator than the one in which the station moves by (front, up), its lean changing by
        so much per 100 mm."""
        front, up, lean_front, lean_up = self.signs
        further = reach_mm / 100
        return (
            float(front * front_um + lean_front * lean_front_um * further),
            float(up * up_um + lean_up * lean_up_um * further),
        )

    def figure_signs(self, surface: str, *, tilt: bool) -> tuple[float, float]:
        """(sideways, up) signs between the dial's figure of a swept ``surface`` and the frame's.

        A bar and a flat are read from outside and are the station's own, and a bar's slope is
        told of its free end: of them only the hand counts.
        """
        if surface in ("bar", "flat"):
            return self.hand, 1.0
        front, up, lean_front, lean_up = map(float, self.signs)
        return (lean_front, lean_up) if tilt else (front, up)


def side_of_front(look: str, headstock_side: str) -> str:
    """The hand, "right" or "left", at which front lies in the dial's view.

    Raises ValueError, as all here do, for a look or a side that is none.
    """
    return RIGHT if _hand(look, headstock_side) > 0 else LEFT


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


def _hand(look: str, headstock_side: str) -> float:
    if look not in _LOOKS:
        raise ValueError(f"The indicator looks {' or '.join(_LOOKS)}, not {look!r}.")
    if headstock_side not in _SIDES:
        raise ValueError(
            f"The headstock stands at the operator's {' or '.join(_SIDES)}, not {headstock_side!r}."
        )
    return _LOOKS[look] * _SIDES[headstock_side]
