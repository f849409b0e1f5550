"""How far off an axis may stand by the limits of one of its figures."""

import pytest

from alignment.geometry.drift.tolerance import offset_allowed_um


@pytest.mark.parametrize(
    ("lower", "upper", "allowed"),
    [
        (-20, 20, 20),
        (-5, 20, 5),
        (-20, 5, 5),
        (0, 20, 20),
        (5, 20, 20),
        (-20, -5, 20),
        (None, 20, 20),
        (-5, None, 5),
        (5, None, None),
        (None, -5, None),
        (None, None, None),
    ],
)
def test_the_nearest_limit_going_out_from_zero_is_what_is_allowed(lower, upper, allowed):
    assert offset_allowed_um("front", lower, upper) == allowed


@pytest.mark.parametrize(("lower", "upper"), [(-5, 20), (-30, 30), (0, 12), (None, 8)])
def test_whichever_way_it_stands_nothing_further_out_is_within_for_certain(lower, upper):
    """Found by walking outward both ways until a limit that was within is passed."""
    low, high = (-1e9 if lower is None else lower), (1e9 if upper is None else upper)
    leaves = [
        n
        for way in (-1, 1)
        for n in range(1, 100)
        if low <= way * (n - 1) <= high and not low <= way * n <= high
    ]
    outward = [n - 1 for n in leaves if n > 1]
    assert offset_allowed_um("up", lower, upper) == min(outward)


def test_half_of_a_tir_is_allowed_as_an_offset():
    """TIR of a pure offset is twice the offset (Carrier service manual, p. 216)."""
    assert offset_allowed_um("tir", None, 5) == 2.5


@pytest.mark.parametrize("quantity", ["tilt", "tilt right", "out near", "bow up"])
def test_a_tilt_and_a_figure_of_a_bar_allow_no_offset(quantity):
    assert offset_allowed_um(quantity, None, 10) is None
