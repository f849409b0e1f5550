"""Drawn signatures: the lines of a pen as points, checked. Free of Django."""

import json
import math

MOST_STROKES = 200
MOST_POINTS = 6000
LARGEST = 10_000


def read_strokes(text: str) -> list[list[list[float]]]:
    """The strokes a page sent as JSON: lists of [x, y], y counting downwards, to a tenth.

    Empty text is no strokes. Raises ValueError for what is no drawing, or one too large to be a
    signature.
    """
    if not text.strip():
        return []
    try:
        strokes = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise ValueError("The drawn signature cannot be read; draw it again.") from error
    if not isinstance(strokes, list) or len(strokes) > MOST_STROKES:
        raise ValueError("That is no signature; draw it again.")
    read = [_stroke(stroke) for stroke in strokes]
    if sum(len(stroke) for stroke in read) > MOST_POINTS:
        raise ValueError("The drawing is too large for a signature; draw it again.")
    return [stroke for stroke in read if stroke]


def _stroke(stroke):
    if not isinstance(stroke, list):
        raise ValueError("That is no signature; draw it again.")
    return [_point(point) for point in stroke]


def _point(point):
    numbers = isinstance(point, list) and len(point) == 2
    if not numbers or not all(_is_coordinate(number) for number in point):
        raise ValueError("That is no signature; draw it again.")
    return [round(float(number), 1) for number in point]


def _is_coordinate(number):
    return (
        isinstance(number, int | float)
        and not isinstance(number, bool)
        and math.isfinite(number)
        and abs(number) <= LARGEST
    )
