"""Which figures an acceptance sheet's line may ask for."""

OFFSET, TIR, RIGHT, UP = "offset", "tir", "right", "up"
# Per stated length: of an axis in sweeps at several planes, of a face, of a bar to the travel.
TILT, TILT_RIGHT, TILT_UP = "tilt", "tilt right", "tilt up"
# Of a test bar: its run-out at its first and last position, the travel's straightness along it.
RUNOUT_NEAR, RUNOUT_FAR = "out near", "out far"
BOW_RIGHT, BOW_UP = "bow right", "bow up"

TILTS = frozenset({TILT, TILT_RIGHT, TILT_UP})
SIGNED = frozenset({RIGHT, UP, TILT_RIGHT, TILT_UP})
OF_A_BAR = frozenset({RUNOUT_NEAR, RUNOUT_FAR, BOW_RIGHT, BOW_UP})
SIZES = frozenset({OFFSET, TIR, TILT}) | OF_A_BAR
