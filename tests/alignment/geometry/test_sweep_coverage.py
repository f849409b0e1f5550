"""The stated 95 % regions hold what they claim, in ten thousand simulated sweeps each."""

import numpy as np
import pytest

from alignment.geometry.measure.sweep import fit_sweeps, predicted_readings
from alignment.geometry.vectors import region_factor

COUNT = 10_000
TRUTH = np.array([12.0, -7.0])


def _share_covered(angles, reading_u_um, seed):
    noise = np.random.default_rng(seed).normal(0, 1.5, (COUNT, len(angles)))
    readings = predicted_readings(*TRUTH, angles, "bore") + noise
    fits = fit_sweeps(angles, readings, reading_u_um=reading_u_um)
    miss = np.column_stack([fits.right_um, fits.up_um]) - TRUTH
    distance = np.einsum("mi,mij,mj->m", miss, np.linalg.inv(fits.covariance_um2), miss)
    return np.mean(distance <= region_factor(fits.dof_u))


LAYOUTS = [
    [0, 90, 180, 270],
    [0, 45, 90, 135, 180, 225, 270, 315],
    [0, 30, 60, 100, 250, 300],
]


@pytest.mark.parametrize("angles", LAYOUTS)
@pytest.mark.parametrize("reading_u_um", [1.5, 0.0], ids=["stated", "from the residuals"])
def test_the_stated_region_covers_the_true_offset_95_times_in_100(angles, reading_u_um):
    assert 0.94 <= _share_covered(angles, reading_u_um, seed=len(angles)) <= 0.96


def test_too_small_a_statement_is_mended_by_the_scatter():
    covered = _share_covered(LAYOUTS[1], 0.3, seed=3)
    assert 0.94 <= covered <= 0.97
