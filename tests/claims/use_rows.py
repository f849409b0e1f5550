"""Claims about how much a machine is used, and when a meter will have counted so much."""

from __future__ import annotations

import math

import numpy as np

from machines.engineering.use import use_of
from tests.claims.claim import Case, Row

DAYS = 1600
FIRST = 4  # 5 January 1970 was a Monday
GAPS = {"every day": 1, "every week": 7, "every ten days": 10, "every month": 30}


def shifts(rng):
    """Working days of some nine hours, a few Saturdays, no Sundays."""
    weekday = np.arange(DAYS) % 7
    working, saturday = rng.gamma(6, 1.5, DAYS), rng.gamma(4, 1, DAYS) * (rng.random(DAYS) < 0.3)
    return np.where(weekday < 5, working, np.where(weekday == 5, saturday, 0.0))


def idle_days(rng):
    return shifts(rng) * (rng.random(DAYS) < 0.8)


def jobs(rng):
    """Jobs of some three weeks, and a week without one in between."""
    on, busy = np.empty(DAYS), True
    for day in range(DAYS):
        busy ^= bool(rng.random() < (0.06 if busy else 0.15))
        on[day] = busy
    return shifts(rng) * on


def quarters(rng):
    """Work that changes by a quarter from one quarter of the year to the next."""
    return shifts(rng) * np.repeat(rng.lognormal(0, 0.25, DAYS // 90 + 1), 90)[:DAYS]


def heavy_tails(rng):
    return shifts(rng) * rng.pareto(2.5, DAYS) * 1.5


def read(rng, world, gap):
    """(use per day, the last day read, what is told of it): four months of readings."""
    used = world(rng)
    total = np.concatenate([[0.0], np.cumsum(used)])
    first = 364 + rng.integers(0, 7)
    at = np.arange(first, first + 121, gap)
    return used, total, at[-1], use_of(at + float(FIRST), total[at], 0.90)


def rate_held(world, gap):
    mean = np.mean([world(np.random.default_rng(seed)).mean() for seed in range(300)])

    def one(rng):
        *_, use = read(rng, world, gap)
        return use.low <= mean <= use.high

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


def day_held(world, gap, more_h):
    """Whether the day on which so much more is counted lies between the days told."""

    def one(rng):
        _used, total, last, use = read(rng, world, gap)
        day = int(np.searchsorted(total, total[last] + more_h)) - 1
        _, least, most = use.days_until(more_h)
        sooner, later = (
            math.floor(use.week.after(last + float(FIRST), min(days, DAYS)) - FIRST - 1e-9)
            for days in (least, most)
        )
        return sooner <= day <= later

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


WORLDS = {"shifts": shifts, "idle days": idle_days, "jobs of weeks": jobs}

ROWS = (
    Row(
        "use",
        "the interval holds the use a day",
        "90 %",
        0.86,
        0.94,
        tuple(
            Case(f"{world}, read {often}", rate_held(WORLDS[world], gap))
            for world in WORLDS
            for often, gap in GAPS.items()
        ),
        runs=2000,
        short=100,
    ),
    Row(
        "use",
        "the days told hold that of 1,000 h more",
        "90 %",
        0.86,
        0.94,
        tuple(
            Case(f"{world}, read {often}", day_held(WORLDS[world], gap, 1000))
            for world in WORLDS
            for often, gap in GAPS.items()
        ),
        runs=2000,
        short=100,
    ),
    Row(
        "use",
        "the days told hold that of 100 h more, in whole days",
        "90 %",
        0.87,
        0.97,
        tuple(
            Case(f"{world}, read {often}", day_held(WORLDS[world], gap, 100))
            for world in WORLDS
            for often, gap in GAPS.items()
        ),
        runs=2000,
        short=100,
    ),
    Row(
        "use",
        "the interval holds the use a day over the years",
        "90 %",
        0.55,
        0.95,
        (
            Case("work changes by a quarter each quarter", rate_held(quarters, 7)),
            Case("heavy tails", rate_held(heavy_tails, 7)),
        ),
        short=200,
        broken=True,
        caution="by a quarter from one quarter of the year to the next",
    ),
    Row(
        "use",
        "the days told hold that of 1,000 h more",
        "90 %",
        0.65,
        0.95,
        (
            Case("work changes by a quarter each quarter", day_held(quarters, 7, 1000)),
            Case("heavy tails", day_held(heavy_tails, 7, 1000)),
        ),
        short=200,
        broken=True,
        caution="by a quarter from one quarter of the year to the next",
    ),
)
