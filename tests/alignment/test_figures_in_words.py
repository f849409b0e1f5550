"""A figure with a direction is told in words and never with a sign besides."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.sheets.directions import SHORT, figure_shown, with_sign
from alignment.sheets.formatting import limits_between
from shop.lengths import format_length, parse_length

QUANTITIES = ("front", "up", "tilt front", "tilt up")
MINUS = ("rear", "down")


def in_mm(um):
    return format_length(um, "mm", with_unit=True)


@given(st.integers(-(10**6), 10**6), st.sampled_from(QUANTITIES), st.booleans())
def test_it_reads_back_as_it_was(um, quantity, short):
    words = {"words": SHORT} if short else {}
    told = figure_shown(Decimal(um), quantity, in_mm, **words)
    assert not set(told) & set("+-−")
    number, unit, *way = told.split()
    sign = -1 if way and way[-1] in MINUS else 1
    assert sign * parse_length(f"{number} {unit}", "mm") == um
    assert bool(way) == (um != 0)


@given(st.integers(-9, 9), st.sampled_from(QUANTITIES))
def test_what_comes_to_nothing_has_no_direction(hundredths, quantity):
    assert figure_shown(hundredths / 200, quantity, in_mm) == "0.0000 mm"


def test_a_size_keeps_what_it_says():
    assert figure_shown(Decimal(12), "offset", in_mm) == "0.012 mm"


@pytest.mark.parametrize(
    ("lower", "upper", "quantity", "said"),
    [
        (-20, 20, "front", "± 20 µm"),
        (-9, 2, "front", "at most 9 µm to the rear or 2 µm to the front"),
        (0, 10, "tilt up", "0 µm to 10 µm up only"),
        (-10, 0, "up", "0 µm to 10 µm down only"),
        (3, 10, "up", "3 µm to 10 µm up only"),
        (-10, -3, "front", "3 µm to 10 µm to the rear only"),
        (None, 5, "up", "at most 5 µm up"),
        (-5, None, "front", "at most 5 µm to the rear"),
        (0, None, "up", "up only"),
        (None, -4, "up", "at least 4 µm down"),
        (None, 20, "offset", "up to 20 µm"),
        (None, None, "up", "no limit"),
    ],
)
def test_limits_are_told_with_their_ways(lower, upper, quantity, said):
    ends = (None if um is None else Decimal(um) for um in (lower, upper))
    assert limits_between(*ends, "um", quantity) == said


def test_a_column_says_what_its_plus_is():
    assert with_sign("stands", "front") == "stands, front (+) / rear (-), µm"
    assert with_sign("value", "up") == "value, up (+) / down (-), µm"
    assert with_sign("value", None) == "value, µm"
