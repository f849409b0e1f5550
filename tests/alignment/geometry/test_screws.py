"""Jack screws: which one, by how many degrees, which way."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.adjust.move import Place
from alignment.geometry.adjust.screws import JackScrews
from alignment.geometry.measure.sweep import fit_sweep

THREE = (0, 120, 240)


def test_an_axis_that_leans_up_is_levelled_by_drawing_back_the_top():
    # Radius 50 mm and 20 µm per 100 mm: the top stands 10 µm too near, the others 5 too far.
    move = JackScrews(50, THREE, 1.0, least_turn_deg=0).plan(Place(0, 0, 0, 20))
    assert [step.height_um for step in move.steps] == pytest.approx([-10, 5, 5])
    assert [step.way for step in move.steps] == ["anticlockwise", "clockwise", "clockwise"]
    assert move.steps[0].turn_deg == pytest.approx(-3.6)


def test_screws_that_push_the_casting_away_turn_the_other_way():
    way = JackScrews(50, THREE, 1.0, clockwise_pushes="away from the headstock", least_turn_deg=0)
    move = way.plan(Place(0, 0, 0, 20))
    assert move.steps[0].turn_deg == pytest.approx(3.6)
    assert move.steps[0].height_um == pytest.approx(-10)
    assert move.after.slope_up_um_per_100mm == pytest.approx(0)


def test_one_screw_may_be_left_alone():
    move = JackScrews(50, THREE, 1.0, hold=0, least_turn_deg=0).plan(Place(0, 0, 0, 20))
    assert [step.height_um for step in move.steps] == pytest.approx([0, 15, 15])
    assert move.steps[0].way == "leave"


def test_a_finer_thread_needs_more_turn():
    coarse, fine = (
        JackScrews(50, THREE, pitch, least_turn_deg=0).plan(Place(0, 0, 0, 20)).steps[0].turn_deg
        for pitch in (1.0, 0.5)
    )
    assert fine == pytest.approx(2 * coarse)


def test_turns_are_rounded_to_what_the_hand_can_set_and_the_rest_is_shown():
    move = JackScrews(50, THREE, 1.0, least_turn_deg=5).plan(Place(0, 0, 0, 20))
    assert [step.turn_deg for step in move.steps] == [-5, 0, 0]
    reached = -5 / 360 * 1000
    assert move.steps[0].height_um == pytest.approx(reached)
    # One screw of three lifts the plane through all by two thirds of its height over the radius.
    assert move.after.slope_up_um_per_100mm == pytest.approx(20 + 2 / 3 * reached / 50 * 100)


def test_a_tilt_about_screws_behind_the_swept_plane_shifts_the_axis_there():
    move = JackScrews(50, THREE, 1.0, plane_mm=40, least_turn_deg=0).plan(Place(5, 0, 20, 0))
    assert move.after.front_um == pytest.approx(5 + 20 * 40 / 100)
    assert "sweep again" in move.notes[0]


def test_screws_in_the_swept_plane_leave_the_axis_where_it_is_there():
    move = JackScrews(50, THREE, 1.0).plan(Place(5, 3, 20, 0))
    assert (move.after.front_um, move.after.up_um) == (5, 3)
    assert move.notes == ()


BAD = [
    (JackScrews(50, (0, 120), 1.0), "three screws at least"),
    (JackScrews(50, (0, 120, 120), 1.0), "three different places"),
    (JackScrews(50, (0, 120, 480), 1.0), "three different places"),
    (JackScrews(0, THREE, 1.0), "radius"),
    (JackScrews(50, THREE, 0), "pitch"),
    (JackScrews(50, THREE, 1.0, hold=3), "no screw number 3"),
    (JackScrews(50, THREE, 1.0, clockwise_pushes="up"), "clockwise turn pushes"),
    (JackScrews(50, (0, 120, float("nan")), 1.0), "angles of the screws"),
    (JackScrews(50, THREE, 1.0, least_turn_deg=-1), "smallest step"),
]


@pytest.mark.parametrize(("way", "reason"), BAD)
def test_screws_that_can_set_no_tilt_are_refused(way, reason):
    with pytest.raises(ValueError, match=reason):
        way.plan(Place(0, 0, 20, 0))


slopes = st.floats(-200, 200)
layouts = st.sampled_from([THREE, (10, 100, 250), (0, 90, 180, 270), (45, 135, 225, 315, 350)])


@given(slopes, slopes, layouts, st.sampled_from([None, 0, 2]))
@settings(max_examples=60, deadline=None)
def test_unrounded_screws_bring_any_tilt_to_the_target(right, up, angles, hold):
    way = JackScrews(40, angles, 0.75, hold=hold, least_turn_deg=0)
    after = way.plan(Place(0, 0, right, up), Place(0, 0, 3, -4)).after
    found = (after.slope_front_um_per_100mm, after.slope_up_um_per_100mm)
    assert found == pytest.approx((3, -4), abs=1e-8)


def test_raising_the_screws_as_told_squares_the_face_that_was_swept():
    # The same tilt seen as a face: the heights are taken off its readings, and it reads level.
    face = fit_sweep(THREE, [8, -3, 1], surface="boss")
    now = Place(0, 0, face.right_um * 100 / 50, face.up_um * 100 / 50)
    move = JackScrews(50, THREE, 1.0, least_turn_deg=0).plan(now)
    heights = np.array([step.height_um for step in move.steps])
    levelled = fit_sweep(THREE, np.array([8, -3, 1]) + heights, surface="boss")
    assert levelled.tir_um == pytest.approx(0, abs=1e-9)
