"""Flats held against a bar in the spindle."""

import numpy as np
import pytest

from alignment.geometry.measure.face import flat_height


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
