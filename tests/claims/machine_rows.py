"""Claims about parts, meters and incidents."""

from __future__ import annotations

from math import gamma

import numpy as np

from machines.engineering.life import fit_weibull
from machines.engineering.meters import Totals, usage_rate
from machines.engineering.repair_rates import mtbf
from tests.claims.claim import Case, Row


def mean_life_held(count, shape):
    def one(rng):
        fit = fit_weibull(1000 * rng.weibull(shape, count))
        low, high = fit.mean_bounds_h
        return low <= 1000 * gamma(1 + 1 / shape) <= high

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


def rate_of_incidents_held(expected):
    def simulate(rng, runs):
        counts = rng.poisson(expected, runs)
        each = {count: mtbf(1000, int(count)) for count in np.unique(counts)}
        truth = 1000 / expected
        return np.array([each[count].low_h <= truth <= each[count].high_h for count in counts])

    return simulate


def use_held(count):
    """Readings that each miss a straight line on their own, by up to three hours."""

    def one(rng):
        days = np.sort(rng.uniform(0, 120, count))
        use = usage_rate(Totals(days, 8 * days + rng.normal(0, 3, count)))
        return np.nan if use.low is None else use.low <= 8 <= use.high

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


ROWS = (
    Row(
        "part life",
        "the interval holds the mean life",
        "90 %",
        0.86,
        0.95,
        (
            Case("20 failures, shape 1", mean_life_held(20, 1.0)),
            Case("20 failures, shape 3", mean_life_held(20, 3.0)),
        ),
        runs=400,
        short=100,
    ),
    Row(
        "incidents",
        "the interval holds the time between failures",
        "90 %",
        0.88,
        0.97,
        (
            Case("5 expected", rate_of_incidents_held(5)),
            Case("20 expected", rate_of_incidents_held(20)),
        ),
    ),
    Row(
        "use",
        "the interval holds the use a day",
        "90 %",
        0.85,
        0.97,
        (Case("10 readings", use_held(10)), Case("20 readings", use_held(20))),
        runs=1000,
        short=200,
    ),
)
