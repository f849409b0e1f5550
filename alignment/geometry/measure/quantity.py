"""Which figures an acceptance sheet's line may ask for.

A line asks in the machine's frame: front and up of the station, the free end of a bar. What a
dial shows is to the right and up in its own view; `in_dial` names that figure.
"""

OFFSET, TIR, FRONT, UP = "offset", "tir", "front", "up"
# Per stated length: of an axis in sweeps at several planes, of a face, of a bar to the travel.
TILT, TILT_FRONT, TILT_UP = "tilt", "tilt front", "tilt up"
# Of a test bar: its run-out at its first and last position, the travel's straightness along it.
RUNOUT_NEAR, RUNOUT_FAR = "out near", "out far"
BOW_FRONT, BOW_UP = "bow front", "bow up"
# The same in a dial's view.
RIGHT, TILT_RIGHT, BOW_RIGHT = "right", "tilt right", "bow right"
IN_DIAL = {FRONT: RIGHT, TILT_FRONT: TILT_RIGHT, BOW_FRONT: BOW_RIGHT}

TILTS = frozenset({TILT, TILT_FRONT, TILT_UP, TILT_RIGHT})
SIDEWAYS = frozenset({FRONT, TILT_FRONT})
UPWARDS = frozenset({UP, TILT_UP})
SIGNED = SIDEWAYS | UPWARDS
OF_A_BAR = frozenset({RUNOUT_NEAR, RUNOUT_FAR, BOW_FRONT, BOW_UP, BOW_RIGHT})
SIZES = frozenset({OFFSET, TIR, TILT}) | OF_A_BAR


def in_dial(quantity: str) -> str:
    """The figure of a dial's view that a figure of the frame is worked out from."""
    return IN_DIAL.get(quantity, quantity)
