"""From the dial into the frame: derived by hand, standing at the machine."""

import numpy as np
import pytest

from alignment.geometry.frame import (
    IN_DATUM,
    IN_STATION,
    LEFT,
    LOOKS_AWAY,
    LOOKS_TOWARDS,
    RIGHT,
    frame_signs,
    side_of_front,
)
from alignment.geometry.measure.sweep import fit_sweep


def to_frame(right_um, up_um, *view):
    """A swept centre of the dial's view, turned as the signs say."""
    front, up, _, _ = frame_signs(*view)
    return front * right_um, up * up_um


def lean_to_frame(right_um, up_um, *view):
    _, _, front, up = frame_signs(*view)
    return front * right_um, up * up_um


@pytest.mark.parametrize(
    ("look", "headstock", "front"),
    [
        (LOOKS_AWAY, LEFT, RIGHT),
        (LOOKS_TOWARDS, LEFT, LEFT),
        (LOOKS_AWAY, RIGHT, LEFT),
        (LOOKS_TOWARDS, RIGHT, RIGHT),
    ],
)
def test_front_lies_at_the_hand_where_the_operator_stands(look, headstock, front):
    # Facing the rear with the headstock at the left, away from it is to the right; who turns
    # right to look that way has the operator's side at his right hand.
    assert side_of_front(look, headstock) == front


# Derived by hand: readings 0, 20, 16, −4 µm at 0, 90, 180, 270° in a bore are a swept centre
# 12 µm left and 8 µm up in the dial.
READINGS = ([0, 90, 180, 270], [0, 20, 16, -4])


def test_an_indicator_in_the_sub_spindle_looking_at_the_headstock():
    fit = fit_sweep(*READINGS)
    assert (fit.right_um, fit.up_um) == pytest.approx((-12, 8))
    stands = to_frame(fit.right_um, fit.up_um, IN_STATION, LOOKS_TOWARDS, LEFT)
    assert stands == pytest.approx((-12, -8))  # 12 µm to the rear, 8 down


def test_the_same_readings_from_the_headstock_on_the_housing():
    fit = fit_sweep(*READINGS)
    stands = to_frame(fit.right_um, fit.up_um, IN_DATUM, LOOKS_AWAY, LEFT)
    assert stands == pytest.approx((-12, 8))  # 12 µm to the rear, 8 up


@pytest.mark.parametrize("holder", [IN_DATUM, IN_STATION])
@pytest.mark.parametrize("look", [LOOKS_AWAY, LOOKS_TOWARDS])
@pytest.mark.parametrize("headstock", [LEFT, RIGHT])
def test_there_and_back_is_where_one_was(holder, look, headstock):
    # Each direction keeps its sign or changes it, so the way back is the way there.
    there = to_frame(3.0, -5.0, holder, look, headstock)
    assert to_frame(*there, holder, look, headstock) == (3.0, -5.0)


def test_an_axis_that_rises_towards_the_headstock_falls_away_from_it():
    # Looking at the headstock, further from the indicator is nearer to the headstock.
    assert lean_to_frame(4.0, 7.0, IN_DATUM, LOOKS_TOWARDS, LEFT) == (4.0, -7.0)
    assert lean_to_frame(4.0, 7.0, IN_STATION, LOOKS_TOWARDS, LEFT) == (-4.0, 7.0)


def test_a_covariance_turns_with_the_signs():
    signs = frame_signs(IN_STATION, LOOKS_TOWARDS, LEFT)
    assert np.array_equal(signs, [1, -1, -1, 1])


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        (("hand", LOOKS_AWAY, LEFT), "datum or the station"),
        ((IN_DATUM, "sideways", LEFT), "from the headstock or to the headstock"),
        ((IN_DATUM, LOOKS_AWAY, "above"), "left or right"),
    ],
)
def test_what_is_no_view_is_refused(wrong, told):
    with pytest.raises(ValueError, match=told):
        to_frame(1.0, 1.0, *wrong)
