"""Repeated sweeps of one setting, taken together."""

import numpy as np
import pytest

from alignment.geometry.measure.repeats import average_sweeps
from alignment.geometry.measure.sweep import fit_sweep, predicted_readings

FOUR = [0, 90, 180, 270]


def _sweep(right, up, reading_u_um=1.0, angles=FOUR):
    readings = predicted_readings(right, up, angles)
    return fit_sweep(angles, readings, reading_u_um=reading_u_um)


def test_the_centre_is_the_mean_of_the_sweeps():
    mean = average_sweeps([_sweep(10, 0), _sweep(11, 1), _sweep(12, 2)])
    assert (mean.right_um, mean.up_um, mean.count) == pytest.approx((11, 1, 3))


def test_sweeps_that_agree_make_the_mean_surer():
    mean = average_sweeps([_sweep(10, 0)] * 4)
    assert mean.covariance_um2 == pytest.approx(np.eye(2) / 2 / 4)
    assert (mean.scatter_um, mean.dof_u) == (0, np.inf)


def test_sweeps_that_scatter_are_believed_over_the_statement():
    mean = average_sweeps([_sweep(10, 0), _sweep(-10, 0)])
    assert mean.scatter_um == pytest.approx(10)
    assert mean.covariance_um2 == pytest.approx(50 * np.eye(2))
    assert mean.dof_u == 2


def test_repeats_tell_what_single_sweeps_of_three_readings_cannot():
    three = [0, 120, 240]
    mean = average_sweeps([_sweep(10 + d, 0, 0.0, three) for d in (-1, 0, 1)])
    assert mean.u_offset_um == pytest.approx(np.sqrt(0.5 / 3))


def test_one_sweep_is_its_own_mean():
    sweep = _sweep(3, 4)
    mean = average_sweeps([sweep])
    assert (mean.offset_um, mean.scatter_um) == (pytest.approx(5), None)
    assert mean.covariance_um2 == pytest.approx(sweep.covariance_um2)


def test_no_sweep_has_no_mean():
    with pytest.raises(ValueError, match="no sweep"):
        average_sweeps([])
