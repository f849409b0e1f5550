"""A hundred thousand sweeps fitted at once, against least squares alone on the same array."""

import numpy as np

from alignment.geometry.measure.sweep import fit_sweeps
from tests.benchmarks.measuring import seconds

SWEEPS, POINTS = 100_000, 8


def test_fitting_100_000_sweeps(benchmark):
    rng = np.random.default_rng(0)
    angles = np.arange(POINTS) * 360 / POINTS
    theta = np.radians(angles)
    offsets = rng.uniform(-20, 20, (SWEEPS, 2))
    design = np.column_stack([np.ones(POINTS), -np.sin(theta), -np.cos(theta)])
    readings = offsets @ design[:, 1:].T + rng.normal(0, 0.5, (SWEEPS, POINTS))

    def floor():
        found = np.linalg.lstsq(design, readings.T, rcond=None)[0]
        residuals = readings - found.T @ design.T
        return np.hypot(found[1], found[2]), np.ptp(residuals, axis=1), np.ptp(readings, axis=1)

    def product():
        return fit_sweeps(angles, readings, reading_u_um=0.5)

    assert np.allclose(product().offset_um, floor()[0])
    taken, least = seconds(product, 3), seconds(floor, 3)
    benchmark.pedantic(product, rounds=1)
    benchmark.extra_info |= {
        "what": "100,000 sweeps of 8 readings",
        "ms": 1000 * taken,
        "floor": 1000 * least,
    }
