"""Shifts and keyed offsets: how far, which way, with which sign."""

from decimal import Decimal

import pytest

from alignment.geometry.adjust.move import ControlOffset, FreeShift, KeyedAxis, KeyIn, Place

FOUR = [0, 90, 180, 270]


def test_a_casting_that_stands_to_the_front_is_pushed_to_the_rear():
    step = FreeShift().plan(Place(30, 40)).steps[0]
    assert (step.front_um, step.up_um, step.distance_um) == (-30, -40, 50)


def test_a_casting_can_be_brought_to_a_target_beside_the_axis():
    move = FreeShift().plan(Place(30, 40), Place(0, 15))
    assert (move.steps[0].front_um, move.steps[0].up_um) == (-30, -25)
    assert move.after == Place(0, 15)


def test_a_shift_says_that_it_leaves_the_tilt():
    move = FreeShift().plan(Place(30, 0, 12, 0))
    assert move.after == Place(0, 0, 12, 0)
    assert move.notes == ("This does not change the tilt of the axis.",)


def test_places_from_the_records_may_be_decimals():
    assert FreeShift().plan(Place(Decimal("12.7"), Decimal(0))).steps[0].front_um == -12.7


@pytest.mark.parametrize(
    ("axis", "add"),
    [
        (KeyedAxis("X"), -30),
        (KeyedAxis("X", sign=-1), 30),
        (KeyedAxis("X", diameter=True), -60),
        (KeyedAxis("X", sign=-1, diameter=True), 60),
    ],
)
def test_the_offset_to_key_in_carries_its_sign(axis, add):
    move = ControlOffset(front=axis).plan(Place(30, 0))
    assert move.steps == (KeyIn("X", add),)
    assert move.after == Place(0, 0)


def test_an_offset_is_rounded_to_the_controls_least_increment():
    move = ControlOffset(up=KeyedAxis("Y", step_um=2.54)).plan(Place(0, -10))
    assert move.steps[0].add_um == pytest.approx(10.16)
    assert move.after.up_um == pytest.approx(0.16)


def test_a_direction_without_an_axis_stays():
    move = ControlOffset(front=KeyedAxis("X")).plan(Place(30, 7))
    assert move.after == Place(0, 7)
    assert len(move.steps) == 1


@pytest.mark.parametrize(
    ("way", "reason"),
    [
        (ControlOffset(), "No axis is named"),
        (ControlOffset(front=KeyedAxis("X", sign=0)), "sign of X"),
        (ControlOffset(front=KeyedAxis("X", step_um=0)), "least increment of X"),
    ],
)
def test_offsets_that_cannot_be_keyed_in_are_refused(way, reason):
    with pytest.raises(ValueError, match=reason):
        way.plan(Place(30, 0))


def test_a_place_that_is_not_finite_is_refused():
    with pytest.raises(ValueError, match="measured place"):
        FreeShift().plan(Place(float("nan"), 0))
