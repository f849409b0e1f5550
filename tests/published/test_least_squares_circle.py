"""The least-squares circle of roundness measurement, and least squares by other hands.

The sums a = 2/N Σ r cos θ, b = 2/N Σ r sin θ for equally spaced readings are those of
liquisearch.com, roundness, calculation in two dimensions (the subject of NBSIR 79-1758); the
worked case r = 5 + 3 cos θ − 4 sin θ is exact by construction. NumPy and SciPy solve the rest.
"""

import numpy as np
import pytest
from scipy.optimize import least_squares

from alignment.geometry.measure.sweep import fit_sweep

UNEVEN = np.array([5.0, 40, 88, 131, 190, 260, 301])
READINGS = np.array([3.1, -4.0, -9.2, -7.7, 0.4, 9.1, 8.0])


@pytest.mark.parametrize("count", [4, 8, 12])
def test_the_worked_circle_comes_back_for_any_number_of_readings(count):
    angles = np.arange(count) * 360 / count
    theta = np.radians(angles)
    fit = fit_sweep(angles, 5 + 3 * np.cos(theta) - 4 * np.sin(theta), surface="boss")
    assert (fit.mean_um, fit.up_um, fit.right_um) == pytest.approx((5, 3, -4))
    assert fit.offset_um == pytest.approx(5)


def test_equally_spaced_readings_give_the_textbook_sums():
    angles = np.arange(7) * 360 / 7
    theta = np.radians(angles)
    fit = fit_sweep(angles, READINGS, surface="boss")
    assert fit.mean_um == pytest.approx(READINGS.mean())
    assert fit.up_um == pytest.approx(2 / 7 * np.sum(READINGS * np.cos(theta)))
    assert fit.right_um == pytest.approx(2 / 7 * np.sum(READINGS * np.sin(theta)))


def test_numpy_finds_the_same_first_harmonic():
    theta = np.radians(UNEVEN)
    columns = np.column_stack([np.ones(7), -np.sin(theta), -np.cos(theta)])
    solution, squares, _, _ = np.linalg.lstsq(columns, READINGS, rcond=None)
    fit = fit_sweep(UNEVEN, READINGS, surface="bore")
    assert [fit.mean_um, fit.right_um, fit.up_um] == pytest.approx(solution)
    assert np.sum(fit.residuals_um**2) == pytest.approx(squares[0])
    covariance = squares[0] / 4 * np.linalg.inv(columns.T @ columns)
    assert fit.covariance_um2 == pytest.approx(covariance[1:, 1:])


def test_scipy_finds_the_same_first_harmonic_from_amplitude_and_phase():
    theta = np.radians(UNEVEN)

    def miss(guess):
        return guess[0] + guess[1] * np.cos(theta - guess[2]) - READINGS

    level, amplitude, phase = least_squares(miss, [0, 9, 4.5], xtol=1e-14, ftol=1e-14).x
    fit = fit_sweep(UNEVEN, READINGS, surface="boss")
    assert (fit.mean_um, fit.offset_um) == pytest.approx((level, amplitude), rel=1e-6)
    assert fit.clock_deg == pytest.approx(np.degrees(phase), rel=1e-6)


def test_a_dial_turned_in_a_real_round_hole_finds_its_centre():
    # The distance from the axis to the wall of a hole of 16 mm radius, by plane geometry; the
    # plunger is pushed in where the wall is near. The first harmonic is off by e²/R only.
    right, up, radius = 30.0, -40.0, 16_000.0
    angles = np.arange(0, 360, 30)
    sin, cos = np.sin(np.radians(angles)), np.cos(np.radians(angles))
    along, across = right * sin + up * cos, right * cos - up * sin
    wall = along + np.sqrt(radius**2 - across**2)
    fit = fit_sweep(angles, radius - wall, surface="bore")
    assert (fit.right_um, fit.up_um) == pytest.approx((right, up), abs=50**2 / radius)
    assert fit.form_um < 50**2 / radius
