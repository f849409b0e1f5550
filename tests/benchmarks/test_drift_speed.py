"""How fast drift is fitted and forecast, against plain batched linear algebra on the same arrays.

Run with ``pytest tests/benchmarks/test_drift_speed.py --benchmark-enable --benchmark-only -s``;
the ratio is printed. The floor knows the walk beforehand, gives no intervals, and looks at one
date: the least work that could be called a fit and a forecast.
"""

import time

import numpy as np
from scipy import special

from alignment.geometry.drift.fit import fit_drift
from alignment.geometry.drift.forecast import forecast
from alignment.geometry.drift.intervals import make_intervals
from alignment.geometry.drift.prediction import Start
from alignment.geometry.drift.tolerance import Circle

SERIES, MOST_INTERVALS = 100_000, 11


def records():
    """3 to 12 visits a machine, one incident in every third, vectors."""
    rng = np.random.default_rng(0)
    shape = (SERIES, MOST_INTERVALS)
    elapsed = rng.uniform(0.3, 1.7, shape)
    change = 3 * elapsed[..., None] + 1.5 * rng.normal(size=(*shape, 2))
    incident = np.zeros(shape, bool)
    incident[::3, 2] = True
    present = np.arange(MOST_INTERVALS) < rng.integers(2, MOST_INTERVALS + 1, SERIES)[:, None]
    intervals = make_intervals(elapsed, change, 1.0, 1.0, incident, present=present)
    return intervals, Start(rng.uniform(-3, 3, (SERIES, 2)), 1.0)


def product(intervals, start):
    fit = fit_drift(intervals)
    return forecast(fit.belief, start, Circle(15.0), horizon=20.0, now=1.0)


def floor(intervals, start):
    """Dense covariances, one solve, the normal equations, and the chance at one time."""
    s, n, c = intervals.change_um.shape
    keep = intervals.undisturbed
    diagonal = np.where(keep, 2.0 + intervals.elapsed, 1.0)
    covariance = np.repeat(diagonal, c, axis=1)[:, :, None] * np.eye(n * c)
    design = (np.where(keep, intervals.elapsed, 0.0)[..., None, None] * np.eye(c)).reshape(
        s, n * c, c
    )
    observed = np.where(keep[..., None], intervals.change_um, 0.0).reshape(s, n * c, 1)
    both = np.concatenate([design, observed], axis=2)
    normal = design.swapaxes(1, 2) @ np.linalg.solve(covariance, both)
    rate_cov = np.linalg.inv(normal[:, :, :c] + 1e-9 * np.eye(c))
    rate = (rate_cov @ normal[:, :, c:])[..., 0]
    step = intervals.change_um - intervals.elapsed[..., None] * rate[:, None]
    variance = 1.0 + rate_cov[:, 0, 0] + 1.0
    off = ((start.position_um + rate) ** 2).sum(axis=1)
    return step, 1 - special.chndtr(15.0**2 / variance, 2, off / variance)


def processor_seconds(work, *given):
    begun = time.process_time()
    work(*given)
    return time.process_time() - begun


def test_fitting_and_forecasting_100_000_series(benchmark):
    given = records()
    lowest = min(processor_seconds(floor, *given) for _ in range(3))
    taken = []
    benchmark.pedantic(
        lambda: taken.append(processor_seconds(product, *given)), rounds=3, warmup_rounds=1
    )
    ratio = min(taken) / lowest
    benchmark.extra_info |= {
        "what": f"{SERIES:,} series of drift, fitted and forecast",
        "ms": 1000 * min(taken),
        "floor": 1000 * lowest,
    }
    print(f"\n{min(taken):.2f} s against a floor of {lowest:.2f} s: {ratio:.1f} times")
