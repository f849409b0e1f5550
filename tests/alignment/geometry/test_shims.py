"""Shims: what to lay under which foot, from what is on the shelf."""

import pytest

from alignment.geometry.adjust.move import Place
from alignment.geometry.adjust.shims import ShimmedFeet

STOCK = (10, 25, 50, 100)


def _fitted(move):
    return {step.foot: step.fitted_um for step in move.steps}


def test_a_low_station_is_lifted_on_all_feet_alike():
    move = ShimmedFeet({"near": 0, "far": 200}, STOCK).plan(Place(0, -50))
    assert _fitted(move) == {"near": 50, "far": 50}
    assert (move.after.up_um, move.after.slope_up_um_per_100mm) == pytest.approx((0, 0))


def test_a_station_that_leans_down_is_lifted_more_at_the_far_foot():
    move = ShimmedFeet({"near": 0, "far": 200}, STOCK).plan(Place(0, -50, 0, -25))
    assert _fitted(move) == {"near": 50, "far": 100}
    assert (move.after.up_um, move.after.slope_up_um_per_100mm) == pytest.approx((0, 0))


def test_the_nearest_stocked_size_is_taken_and_the_rest_is_shown():
    move = ShimmedFeet({"near": 0, "far": 200}, STOCK).plan(Place(0, -55))
    assert _fitted(move) == {"near": 50, "far": 50}
    assert move.after.up_um == pytest.approx(-5)


def test_sizes_that_differ_tilt_the_station_and_that_is_foretold():
    move = ShimmedFeet({"near": 0, "far": 100}, (10, 50)).plan(Place(0, -30.5, 0, 1))
    assert _fitted(move) == {"near": 50, "far": 10}
    assert move.after.slope_up_um_per_100mm == pytest.approx(-39)


def test_shims_may_be_laid_on_each_other():
    move = ShimmedFeet({"only": 0}, STOCK, most_shims=2).plan(Place(0, -35))
    assert move.steps[0].pieces == (10, 25)


def test_one_piece_is_preferred_to_two_of_the_same_height():
    move = ShimmedFeet({"only": 0}, (25, 50), most_shims=2).plan(Place(0, -50))
    assert move.steps[0].pieces == (50,)


def test_shims_already_there_are_counted():
    way = ShimmedFeet({"near": 0, "far": 200}, STOCK, {"near": 50, "far": 50})
    move = way.plan(Place(0, 25))
    assert _fitted(move) == {"near": 25, "far": 25}
    assert move.after.up_um == pytest.approx(0)


def test_a_high_station_without_shims_cannot_be_lowered_and_that_is_said():
    move = ShimmedFeet({"near": 0, "far": 200}, STOCK).plan(Place(0, 25))
    assert _fitted(move) == {"near": 0, "far": 0}
    assert move.after.up_um == 25
    assert "not enough under near" in move.notes[0]


def test_feet_in_one_line_cannot_change_the_tilt_and_that_is_said():
    move = ShimmedFeet({"left": 50, "right": 50}, STOCK).plan(Place(0, -25, 0, 8))
    assert _fitted(move) == {"left": 25, "right": 25}
    assert move.after == Place(0, 0, 0, 8)
    assert "cannot change the tilt" in move.notes[0]


def test_packing_at_the_side_pushes_to_the_front():
    move = ShimmedFeet({"near": 0, "far": 200}, STOCK, pushes="front").plan(Place(-25, 9))
    assert (move.after.front_um, move.after.up_um) == pytest.approx((0, 9))


BAD = [
    (ShimmedFeet({}, STOCK), "no foot"),
    (ShimmedFeet({"a": 0}, ()), "No shim is in stock"),
    (ShimmedFeet({"a": 0}, (0, 10)), "stocked thickness"),
    (ShimmedFeet({"a": 0}, STOCK, {"b": 10}), "no foot called b"),
    (ShimmedFeet({"a": 0}, STOCK, {"a": -1}), "shims under a"),
    (ShimmedFeet({"a": float("nan")}, STOCK), "positions of the feet"),
    (ShimmedFeet({"a": 0}, STOCK, pushes="down"), "push up, front, rear"),
    (ShimmedFeet({"a": 0}, STOCK, most_shims=0), "number of shims"),
]


@pytest.mark.parametrize(("way", "reason"), BAD)
def test_feet_that_cannot_be_shimmed_are_refused(way, reason):
    with pytest.raises(ValueError, match=reason):
        way.plan(Place(0, -30))


def test_packing_at_the_front_pushes_to_the_rear():
    move = ShimmedFeet({"near": 0, "far": 200}, STOCK, pushes="rear").plan(Place(25, 9))
    assert (move.after.front_um, move.after.up_um) == pytest.approx((0, 9))
