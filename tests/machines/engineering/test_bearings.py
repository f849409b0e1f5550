"""Bearings: what knocks where, how long they last, how they run."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines.engineering.bearings import defect_frequencies, life_used, match_peaks, rating_life


def small_bearing(speed_rpm=6000):
    return defect_frequencies(9, 8.0, 39.0, speed_rpm, 15)


@settings(max_examples=50)
@given(st.integers(3, 30), st.floats(20, 300), st.floats(0.1, 0.99), st.floats(0, 45))
def test_every_ball_knocks_once_on_one_ring_or_the_other_per_turn(balls, pitch, part, angle):
    # Outer plus inner is the number of balls times the shaft; the outer is balls times the cage.
    ball = part * 2 * pitch / (balls + 2) / 2
    found = defect_frequencies(balls, ball, pitch, 60, angle)
    assert found.outer_ring_hz + found.inner_ring_hz == pytest.approx(balls)
    assert found.outer_ring_hz == pytest.approx(balls * found.cage_hz)


def test_frequencies_rise_with_speed():
    slow, fast = small_bearing(3000), small_bearing(6000)
    assert fast.inner_ring_hz == pytest.approx(2 * slow.inner_ring_hz)
    assert fast.cage_hz == pytest.approx(2 * slow.cage_hz)


def test_a_damaged_ball_knocks_twice_a_turn():
    assert small_bearing().knocks_hz["ball"] == pytest.approx(2 * small_bearing().ball_spin_hz)


def test_a_peak_one_per_cent_low_still_names_the_outer_ring():
    found = small_bearing()
    (match,) = match_peaks(found, [0.99 * found.outer_ring_hz])
    assert (match.part, match.harmonic) == ("outer ring", 1)
    assert match.deviation == pytest.approx(-0.01)


def test_harmonics_are_told_from_the_first_knock():
    found = small_bearing()
    matches = match_peaks(found, [found.inner_ring_hz, 3 * found.inner_ring_hz])
    assert [(m.part, m.harmonic) for m in matches] == [("inner ring", 1), ("inner ring", 3)]


def test_a_peak_of_something_else_names_no_part():
    found = small_bearing()
    assert match_peaks(found, [1.10 * found.outer_ring_hz]) == ()


def test_the_nearer_part_comes_first_when_a_peak_fits_two():
    found = small_bearing()
    nearer_the_ball = 0.6 * found.knocks_hz["ball"] + 0.4 * found.inner_ring_hz
    matches = match_peaks(found, [nearer_the_ball], tolerance=0.1)
    assert [m.part for m in matches] == ["ball", "inner ring"]


def test_halving_the_load_gives_a_ball_bearing_eight_times_the_life():
    heavy, light = rating_life(30_000, 5000, 1500), rating_life(30_000, 2500, 1500)
    assert light.hours == pytest.approx(8 * heavy.hours)


@pytest.mark.parametrize(("load", "in_scope"), [(15_000, True), (15_001, False)])
def test_a_load_over_half_the_rating_is_outside_the_formula(load, in_scope):
    assert rating_life(30_000, load, 1500).in_scope is in_scope


def test_life_used_is_said_in_hours_and_share():
    used = life_used(1800, rating_life(30_000, 5000, 1500))
    assert used.share == pytest.approx(0.75)
    assert used.sentence == (
        "1,800 of 2,400 h, 75 % of the basic rating life, before which one bearing in ten fails."
    )


def test_a_bearing_may_outlive_its_rating():
    assert life_used(4800, rating_life(30_000, 5000, 1500)).share == pytest.approx(2.0)


def test_a_life_beyond_the_standard_is_told_with_its_caution():
    used = life_used(10, rating_life(30_000, 15_001, 1500))
    assert used.sentence.endswith("only a rough figure, ask the maker.")


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: defect_frequencies(2, 8, 39, 6000), "number of balls must be at least 3, not 2"),
        (lambda: defect_frequencies(9, 20, 39, 6000), "9 balls of 20 mm do not fit round"),
        (lambda: defect_frequencies(9, 8, 39, -60), "speed must be more than zero"),
        (lambda: defect_frequencies(9, 8, 39, 6000, 90), "contact angle must be from 0 to under"),
        (lambda: match_peaks(small_bearing(), [-100]), "measured peak must be more than zero"),
        (lambda: match_peaks(small_bearing(), [100], tolerance=0.5), "at most 0.1"),
        (lambda: rating_life(30_000, 0, 1500), "equivalent load must be more than zero"),
        (lambda: rating_life(30_000, 5000, 1500, "needle-ish"), "ball or roller"),
        (lambda: life_used(-1, rating_life(30_000, 5000, 1500)), "hours run cannot be negative"),
    ],
)
def test_bearing_input_that_makes_no_sense_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
