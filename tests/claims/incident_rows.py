"""Claims about how often incidents come, and whether that changes."""

from __future__ import annotations

import numpy as np

from machines.engineering.repair_rates import grouped_power_law, mtbf, power_law
from machines.engineering.trends import trend
from tests.claims.claim import Case, Row

OBSERVED_H = 1000.0


def singly(expected, exponent=1.0):
    """Incidents one by one, expected so often; more often with time for an exponent over 1."""

    def draw(rng):
        return OBSERVED_H * np.sort(rng.random(rng.poisson(expected)) ** (1 / exponent))

    return draw


def in_bunches(expected):
    """Each brings on another soon after, on average."""

    def draw(rng):
        firsts = rng.random(rng.poisson(expected / 2))
        more = [first + rng.exponential(0.01, rng.poisson(1)) for first in firsts]
        shares = np.sort(np.concatenate([firsts, *more]))
        return OBSERVED_H * shares[shares < 1]

    return draw


def evenly(expected):
    """Gaps that scatter by half of their length."""

    def draw(rng):
        gaps = rng.gamma(4, 1 / (4 * expected), int(3 * expected) + 20)
        shares = np.cumsum(gaps) - rng.random() / expected
        return OBSERVED_H * shares[(shares > 0) & (shares < 1)]

    return draw


def rate_held(draw, expected):
    def one(rng):
        found = mtbf(OBSERVED_H, len(draw(rng)))
        return found.low_h <= OBSERVED_H / expected <= found.high_h

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


def not_told(draw, direction):
    def one(rng):
        return trend(draw(rng), OBSERVED_H).direction != direction

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


def now_held(draw, truth_h, groups=None):
    """Where a trend is told: whether the interval of today's hours between incidents holds."""

    def one(rng):
        times = draw(rng)
        if not trend(times, OBSERVED_H).direction:
            return np.nan
        if groups is None:
            found = power_law(times, OBSERVED_H)
        else:
            edges = np.linspace(0, OBSERVED_H, groups + 1)
            found = grouped_power_law(edges[1:], np.histogram(times, edges)[0])
        return found.low_h <= truth_h <= found.high_h if found.fits else np.nan

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


TRENDLESS = {
    "4 expected": singly(4),
    "12 expected": singly(12),
    "30 expected": singly(30),
}
OTHERWISE = {
    "6 in bunches": in_bunches(6),
    "30 in bunches": in_bunches(30),
    "60 in bunches": in_bunches(60),
    "12 at even gaps": evenly(12),
}


def rows_of(direction):
    return (
        Row(
            "incidents",
            f"without trend they are not told to come {direction}",
            "95 %",
            0.95,
            1.0,
            tuple(Case(words, not_told(draw, direction)) for words, draw in TRENDLESS.items()),
            short=200,
        ),
        Row(
            "incidents",
            f"without trend they are not told to come {direction}",
            "95 %",
            0.95,
            1.0,
            tuple(Case(words, not_told(draw, direction)) for words, draw in OTHERWISE.items()),
            short=200,
            broken=True,
            caution="a trend is still told falsely in only about 5 of 100",
        ),
    )


ROWS = (
    Row(
        "incidents",
        "the same where few or none came: at least so many hours",
        "90 % or more",
        0.9,
        1.0,
        (Case("2 expected", rate_held(singly(2), 2)),),
    ),
    Row(
        "incidents",
        "the interval holds the hours between incidents",
        "90 %",
        0.88,
        0.97,
        (
            Case("5 expected", rate_held(singly(5), 5)),
            Case("20 expected", rate_held(singly(20), 20)),
        ),
    ),
    Row(
        "incidents",
        "the interval holds the hours between incidents",
        "90 %",
        0.65,
        1.0,
        (
            Case("20 in bunches", rate_held(in_bunches(20), 20)),
            Case("20 at even gaps", rate_held(evenly(20), 20)),
        ),
        broken=True,
        caution="Where one brings on others",
    ),
    *rows_of("more often"),
    *rows_of("less often"),
    Row(
        "incidents",
        "where a trend is told, the interval holds today's hours between incidents",
        "80 %",
        0.75,
        0.95,
        (
            Case("more often, 20", now_held(singly(20, 2.0), OBSERVED_H / 40)),
            Case("less often, 20", now_held(singly(20, 0.5), OBSERVED_H / 10)),
            Case("less often, 20 in 10 groups", now_held(singly(20, 0.5), OBSERVED_H / 10, 10)),
        ),
        runs=2000,
        short=100,
    ),
)
