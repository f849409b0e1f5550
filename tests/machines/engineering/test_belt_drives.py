"""Belt geometry: lengths, centre distance, mesh and the ratio from spindle to guide bushing."""

from fractions import Fraction

import pytest

from machines.engineering.belt_drives import (
    drive_geometry,
    overall_ratio,
    pitch_diameter_mm,
    pitch_length_mm,
)

# Constructed cases: exact equation solved by independent recomputation, published nowhere.
DRIVES = [
    (120, (20, 40), 5.0, 224.4355, 9.5482),
    (100, (24, 24), 5.0, 190.0, 12.0),
    (75, (15, 30), 5.08, 132.7958, 7.0633),
    (150, (28, 64), 8.0, 413.4566, 13.0099),
]


@pytest.mark.parametrize(("belt", "pulleys", "pitch", "centre", "mesh"), DRIVES)
def test_the_belt_sets_the_centre_distance(belt, pulleys, pitch, centre, mesh):
    drive = drive_geometry(belt, pulleys, pitch)
    assert drive.centre_distance_mm == pytest.approx(centre, abs=5e-5)
    assert drive.teeth_in_mesh == pytest.approx(mesh, abs=5e-5)


def test_equal_pulleys_stand_half_the_leftover_belt_apart():
    # a = (zB - z) p / 2: closed form for two equal pulleys.
    drive = drive_geometry(96, (30, 30), 8.0)
    assert drive.centre_distance_mm == pytest.approx((96 - 30) * 8.0 / 2)
    assert drive.span_length_mm == pytest.approx(drive.centre_distance_mm)


def test_the_free_span_is_shorter_than_the_centre_distance_on_unequal_pulleys():
    drive = drive_geometry(150, (28, 64), 8.0)
    half_difference = (drive.large_diameter_mm - drive.small_diameter_mm) / 2
    by_pythagoras = (drive.centre_distance_mm**2 - half_difference**2) ** 0.5
    assert drive.span_length_mm == pytest.approx(by_pythagoras)


def test_the_order_of_the_pulleys_does_not_matter():
    assert drive_geometry(120, (40, 20), 5.0) == drive_geometry(120, (20, 40), 5.0)


@pytest.mark.parametrize(("pulleys", "enough"), [((10, 30), False), ((20, 40), True)])
def test_few_teeth_in_mesh_are_flagged(pulleys, enough):
    assert drive_geometry(80, pulleys, 5.0).enough_teeth_in_mesh is enough


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: drive_geometry(60, (40, 60), 5.0), "too short for these pulleys"),
        (lambda: pitch_length_mm(96, 0), "belt pitch must be more than zero"),
        (lambda: pitch_diameter_mm(0, 5.0), "pulley teeth must be at least 6"),
        (lambda: overall_ratio([(36, 0)]), "pulley teeth must be at least 6"),
    ],
)
def test_drives_that_cannot_be_built_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_a_path_out_and_back_through_the_jack_shaft_runs_in_step():
    ratio = overall_ratio([(36, 30), (30, 36)])
    assert ratio.in_step
    assert ratio.sentence == "The guide bushing turns in step with the main spindle (1:1)."


def test_one_wrong_pulley_is_said_plainly():
    ratio = overall_ratio([(36, 30), (30, 37)])
    assert ratio.turns == Fraction(36, 37)
    assert not ratio.in_step
    assert ratio.sentence == (
        "The guide bushing does not turn in step with the main spindle: 36 turns for every 37 "
        "of the main spindle. It must be 1:1; check the pulleys."
    )


def test_a_ratio_no_float_could_tell_from_one_is_not_one():
    near_one = [(99_999_999, 99_999_998), (99_999_999, 100_000_000)]
    assert not overall_ratio(near_one).in_step
