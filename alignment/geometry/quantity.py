"""Which figures an acceptance sheet's line may ask for."""

OFFSET, TIR, RIGHT, UP = "offset", "tir", "right", "up"
# Per stated length: of an axis in sweeps at several planes, of a face, of a bar to the travel.
TILT, TILT_RIGHT, TILT_UP = "tilt", "tilt right", "tilt up"

TILTS = frozenset({TILT, TILT_RIGHT, TILT_UP})
SIGNED = frozenset({RIGHT, UP, TILT_RIGHT, TILT_UP})
SIZES = frozenset({OFFSET, TIR, TILT})
