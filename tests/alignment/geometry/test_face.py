"""Faces swept square to the spindle, and flats held against a bar in it."""

import numpy as np
import pytest

from alignment.geometry.face import fit_face, flat_height, rim_and_face
from alignment.geometry.sweep import fit_sweep, predicted_readings

FOUR = [0, 90, 180, 270]


def test_a_face_that_stands_nearer_on_the_right_reads_plus_there():
    face = fit_face(FOUR, [0, 5, 0, -5], radius_mm=25)
    assert face.slope_right_um_per_100mm == pytest.approx(20)
    assert face.slope_up_um_per_100mm == pytest.approx(0)
    assert face.clock_deg == pytest.approx(90)


def test_the_same_tilt_reads_twice_as_much_on_twice_the_radius():
    near, far = (fit_face(FOUR, [r, 0, -r, 0], radius_mm=r) for r in (20, 40))
    assert near.slope_up_um_per_100mm == pytest.approx(far.slope_up_um_per_100mm)


def test_the_tilt_over_the_swept_diameter_is_the_tir():
    face = fit_face(FOUR, [0, 5, 10, 5], radius_mm=50)
    assert face.slope_um_per_100mm == pytest.approx(face.tir_um) == pytest.approx(10)


def test_a_larger_circle_makes_the_tilt_surer():
    face = fit_face(FOUR, [0, 5, 0, -5], radius_mm=50, reading_u_um=1.0)
    assert face.u_slope_um_per_100mm == pytest.approx(2 * np.sqrt(0.5))
    assert face.covariance == pytest.approx(4 * np.eye(2) / 2)


def test_a_twisted_face_shows_as_flatness_and_no_tilt():
    face = fit_face(FOUR, [2, -2, 2, -2], radius_mm=50)
    assert (face.slope_um_per_100mm, face.flatness_um) == pytest.approx((0, 4))


@pytest.mark.parametrize("radius", [0, -5, float("nan")])
def test_a_face_needs_a_swept_radius(radius):
    with pytest.raises(ValueError, match="radius of the swept circle"):
        fit_face(FOUR, [0, 1, 2, 1], radius_mm=radius)


def test_an_axis_leans_the_way_its_face_stands_nearer():
    rim = fit_sweep(FOUR, predicted_readings(3, 0, FOUR, "boss"), surface="boss", reading_u_um=1)
    face = fit_face(FOUR, [0, 5, 0, -5], radius_mm=50, reading_u_um=1)
    axis = rim_and_face(rim, face, z_mm=20)
    assert axis.at(20).right_um == pytest.approx(3)
    assert axis.at(120).right_um == pytest.approx(13)


def test_rim_and_face_add_their_uncertainties_with_the_distance():
    rim = fit_sweep(FOUR, [0, 0, 0, 0], surface="boss", reading_u_um=1)
    face = fit_face(FOUR, [0, 0, 0, 0], radius_mm=50, reading_u_um=1)
    assert rim_and_face(rim, face).at(100).covariance_um2 == pytest.approx(2.5 * np.eye(2))


def test_a_flat_level_with_the_crest_of_the_bar_stands_half_a_diameter_up():
    flat = flat_height([2, -2], [0, 0], 10_000)
    assert (flat.height_um, flat.bar_runout_um) == pytest.approx((5000, 4))


def test_a_seat_that_is_too_high_has_a_positive_error():
    # A 12 mm shank stands with its seat 12 mm below the centre: here 5 µm above that.
    flat = flat_height([0, 0], [-16_995], 10_000, nominal_um=-12_000, reading_u_um=1)
    assert flat.error_um == pytest.approx(5)


def test_a_flats_uncertainty_holds_both_surfaces_and_half_the_diameters():
    flat = flat_height([0, 0], [0], 10_000, reading_u_um=2, diameter_u_um=2)
    assert flat.u_um == pytest.approx(np.sqrt(4 * 1.5 + 1))


def test_one_reading_on_a_flat_without_a_statement_proves_nothing():
    assert flat_height([0, 0], [0], 10_000).u_um == np.inf


def test_a_leaning_flat_shows_in_its_readings():
    assert flat_height([0, 0], [0, 3, 6], 10_000).lean_um == pytest.approx(6)


@pytest.mark.parametrize(
    ("bar", "flat", "diameter", "reason"),
    [
        ([0], [0], 10_000, "two opposite positions"),
        ([0, 0], [], 10_000, "the flat once"),
        ([0, 0], [0], 0, "bar's diameter"),
        ([0, float("nan")], [0], 10_000, "readings on the bar"),
    ],
)
def test_a_flat_without_a_proper_bar_is_refused(bar, flat, diameter, reason):
    with pytest.raises(ValueError, match=reason):
        flat_height(bar, flat, diameter)
