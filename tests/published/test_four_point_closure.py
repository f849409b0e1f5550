"""The validity rule of a four-point sweep: top and bottom add up to right and left.

From memory of shaft alignment practice; its two halves are identities that are proved here on
exact sweeps: an offset always closes, and what does not close is four times the second harmonic.
"""

import numpy as np
import pytest

from alignment.geometry.measure.sweep import fit_sweep, predicted_readings

CLOCK = [0, 90, 180, 270]


@pytest.mark.parametrize("offset", [(10, 0), (0, -3), (7.5, 2.5), (0, 0)])
@pytest.mark.parametrize("zero", [0, 90, 33])
def test_an_offset_closes_wherever_the_dial_was_zeroed(offset, zero):
    readings = predicted_readings(*offset, CLOCK, "bore", zero)
    assert fit_sweep(CLOCK, readings).closure_um == pytest.approx(0)


def test_an_oval_of_amplitude_one_fails_to_close_by_four():
    fit = fit_sweep(CLOCK, np.cos(np.radians(2 * np.array(CLOCK))))
    assert fit.closure_um == pytest.approx(4)
    assert fit.residuals_um == pytest.approx([1, -1, 1, -1])


def test_sag_closes_and_so_hides_from_the_rule():
    readings = -6 / 2 * (1 - np.cos(np.radians(CLOCK)))
    assert fit_sweep(CLOCK, readings).closure_um == pytest.approx(0)
