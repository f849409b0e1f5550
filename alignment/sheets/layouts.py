"""Where the boxes of a sweep stand, and how they are filled, emptied and laid out anew.

A box is a pair of texts, (angle, reading), as typed. What a form is filled with is a plain
dictionary of what a browser would send, so that a page fresh from its address, one worked out and
one sent back with its mistakes are made the same way.
"""

import re

from .fields import ANGLE

OWN = "own"
FIXED = {"4": (0, 90, 180, 270), "8": (0, 45, 90, 135, 180, 225, 270, 315)}
LAYOUTS = [("4", "4 points"), ("8", "8 points"), (OWN, "own angles")]
UNITS = [("in", "in"), ("mm", "mm"), ("um", "µm")]
PREFIX = "readings"

OWN_BOXES_AT_FIRST = 6
MORE_BOXES = 4
MOST_BOXES = 36
MOST_SETS = 12


# A box of a set or a row, such as readings-0-reading or row0-top; where it stands is another.
BOX = re.compile(r"(?:readings\d*-\d+|row\d+|bar|flat)-(?!angle$|z$)\w+")


def is_box(name):
    """Whether a field of what a browser sent is a reading."""
    return BOX.fullmatch(name) is not None and not name.endswith("_FORMS")


def prefix_of(index):
    """What the names of a set's boxes begin with."""
    return PREFIX if index == 0 else f"{PREFIX}{index + 1}"


def sets_sent(data):
    """How many sets of readings a browser sent, one at least."""
    text = data.get("sets", "")
    return min(max(int(text), 1), MOST_SETS) if text.isdecimal() and len(text) < 4 else 1


def sets_in(data):
    """The sets in what a browser sent, each (plane, boxes) as typed."""
    return [
        (data.get(f"{prefix_of(index)}-z", ""), boxes_in(data, prefix_of(index)))
        for index in range(sets_sent(data))
    ]


def degrees(text):
    """An angle's text as a number from 0 to below 360, None where it is none."""
    matched = ANGLE.fullmatch(text.strip().casefold())
    return float(matched[1].replace(",", ".")) % 360 if matched else None


def boxes_in(data, prefix=PREFIX):
    """The boxes of one set in what a browser sent."""
    fixed = FIXED.get(data.get("layout"))
    if fixed:
        return [
            (f"{angle}", data.get(f"{prefix}-{index}-reading", ""))
            for index, angle in enumerate(fixed)
        ]
    total = data.get(f"{prefix}-TOTAL_FORMS", "")
    count = min(int(total), MOST_BOXES) if total.isdecimal() and len(total) < 4 else 0
    return [
        (data.get(f"{prefix}-{index}-angle", ""), data.get(f"{prefix}-{index}-reading", ""))
        for index in range(count)
    ]


def laid_out(layout, boxes):
    """The boxes of another layout, with the readings that were typed in `boxes`.

    Raises ValueError where a reading would have no box there.
    """
    typed = [(angle, reading) for angle, reading in boxes if reading.strip()]
    if layout == OWN:
        return typed + [("", "")] * max(OWN_BOXES_AT_FIRST - len(typed), 0)
    by_angle = {degrees(angle): reading for angle, reading in typed}
    homeless = [angle.strip() or "?" for angle, _ in typed if degrees(angle) not in FIXED[layout]]
    if homeless or len(by_angle) < len(typed):
        at = ", ".join(f"{angle.rstrip('°')}°" for angle in homeless) or "an angle typed twice"
        raise ValueError(f"{layout} points have no box for the reading at {at}; clear it first.")
    return [(f"{angle}", by_angle.get(float(angle), "")) for angle in FIXED[layout]]


def with_more_boxes(boxes):
    """The boxes of the layout with own angles, and some more."""
    return (boxes + [("", "")] * MORE_BOXES)[:MOST_BOXES]


def emptied(boxes):
    """The same boxes with nothing read in them."""
    return [(angle, "") for angle, _ in boxes]


def filled(settings, layout, sets):
    """What a browser would send with these settings and sets, each (plane, boxes)."""
    data = {**settings, "layout": layout, "sets": f"{len(sets)}"}
    for number, (plane, boxes) in enumerate(sets):
        prefix = prefix_of(number)
        data |= {
            f"{prefix}-z": plane,
            f"{prefix}-INITIAL_FORMS": "0",
            f"{prefix}-TOTAL_FORMS": f"{len(boxes)}",
        }
        for index, (angle, reading) in enumerate(boxes):
            data[f"{prefix}-{index}-angle"] = angle
            data[f"{prefix}-{index}-reading"] = reading
    return data
