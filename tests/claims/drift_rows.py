"""Claims about drift: rates, steps, dates, bands and what is more than wear."""

from __future__ import annotations

import numpy as np

from alignment.geometry.change import explain_change
from alignment.geometry.course import Start
from alignment.geometry.drift import fit_drift, rate_interval
from alignment.geometry.fans import fan
from alignment.geometry.forecast import chance_outside, forecast
from alignment.geometry.intervals import make_intervals
from alignment.geometry.pooling import borrow
from alignment.geometry.tolerance import Circle
from tests.alignment.geometry.fleets import STEP_UM, U_UM, fleet, true_date
from tests.claims.claim import Case, Row

REACH_UM, RISK, HORIZON = 20.0, 0.05, 50.0


def made(rng, runs, visits, **how):
    return fleet(visits, machines=runs, seed=int(rng.integers(2**31)), **how)


def held(low, truth, high):
    return np.where(np.isnan(low), np.nan, (low <= truth) & (truth <= high))


def rate_held(visits, **how):
    def simulate(rng, runs):
        machines = made(rng, runs, visits, **how)
        fit = fit_drift(machines.intervals)
        return held(fit.rate_low_um, machines.rate_um, fit.rate_high_um)

    return simulate


def step_held(visits):
    def simulate(rng, runs):
        fit = fit_drift(made(rng, runs, visits, incident=1).intervals)
        return held(fit.step_low_um[:, 1], STEP_UM, fit.step_high_um[:, 1])

    return simulate


def _started(machines):
    return fit_drift(machines.intervals).belief, Start(machines.measured_um, U_UM**2)


def date_held(visits):
    def simulate(rng, runs):
        machines = made(rng, runs, visits)
        seen = forecast(*_started(machines), Circle(REACH_UM), horizon=HORIZON)
        truth = true_date(machines, REACH_UM, RISK, HORIZON)
        return held(seen.earliest, truth, seen.latest)

    return simulate


def _later(rng, machines, time):
    """Where machines stand ``time`` (M,) after they were measured."""
    wander = np.sqrt(machines.walk_um2 * time)[:, None]
    moved = machines.rate_um * time[:, None] + wander * rng.normal(size=machines.rate_um.shape)
    return machines.position_um + moved


def in_band(visits):
    def simulate(rng, runs):
        machines = made(rng, runs, visits)
        low, high = fan(*_started(machines), [2.0], levels=(0.95,))
        return held(low[:, 0, 0], _later(rng, machines, np.full(runs, 2.0)), high[:, 0, 0])

    return simulate


def out_less_told(visits):
    """Out or not after two years, less the chance told of it."""

    def simulate(rng, runs):
        machines = made(rng, runs, visits)
        told = chance_outside(*_started(machines), Circle(REACH_UM), [2.0])[:, 0]
        away = np.hypot(*_later(rng, machines, np.full(runs, 2.0)).T)
        return (away > REACH_UM) - told

    return simulate


def called_unusual(visits, **how):
    def simulate(rng, runs):
        change = explain_change(made(rng, runs, visits, **how).intervals)
        return np.where(np.isnan(change.chance), np.nan, change.unusual)

    return simulate


def like_machines(rng, groups, size, moves, spread_um=1.0):
    """Groups of machines whose rates lie about 3 µm a year; their intervals, rates and groups."""
    series = groups * size
    elapsed = rng.uniform(0.3, 1.7, (series, moves))
    rate = 3 + spread_um * rng.normal(size=(series, 1))
    change = rate[:, None] * elapsed[..., None]
    change += np.sqrt(2 * U_UM**2 + 0.5 * elapsed[..., None]) * rng.normal(size=change.shape)
    intervals = make_intervals(elapsed, change, U_UM**2, U_UM**2)
    return intervals, rate, np.repeat(np.arange(groups), size)


def borrowed_held(size, moves):
    def simulate(rng, runs):
        intervals, rate, group = like_machines(rng, runs, size, moves)
        low, high = rate_interval(borrow(intervals, group).belief)
        return held(low, rate, high)[::size]

    return simulate


VISITS = (3, 5, 12)

ROWS = (
    Row(
        "rate",
        "the interval holds the rate",
        "95 %",
        0.93,
        0.97,
        tuple(
            Case(
                f"{visits} visits, walk {ratio:g} × measurement",
                rate_held(visits, walk_ratio=ratio),
            )
            for visits in VISITS
            for ratio in (0.5, 1.0, 10.0)
        ),
    ),
    Row(
        "step",
        "the interval holds the step",
        "95 %",
        0.93,
        0.97,
        tuple(Case(f"{visits} visits", step_held(visits)) for visits in (5, 12)),
    ),
    Row(
        "date",
        "the interval holds the day",
        "95 %",
        0.93,
        0.98,
        tuple(Case(f"{visits} visits", date_held(visits)) for visits in VISITS),
        runs=2000,
        short=300,
    ),
    Row(
        "forecast",
        "the light band holds the place two years on",
        "95 %",
        0.93,
        0.97,
        tuple(Case(f"{visits} visits", in_band(visits)) for visits in VISITS),
    ),
    Row(
        "chance of being outside",
        "how much more often it is out two years on than told",
        "0 %",
        -0.03,
        0.03,
        tuple(Case(f"{visits} visits", out_less_told(visits)) for visits in (5, 12)),
    ),
    Row(
        "more than wear",
        "honest wear called more",
        "1 %",
        0.0,
        0.015,
        tuple(Case(f"at visit {visits}", called_unusual(visits)) for visits in (4, 5, 12)),
        runs=20000,
        short=4000,
    ),
    Row(
        "borrowed",
        "the interval holds the rate of an ordinary machine",
        "95 %",
        0.92,
        0.98,
        tuple(Case(f"{size} of a kind, 4 moves each", borrowed_held(size, 4)) for size in (3, 12)),
        runs=1000,
        short=200,
    ),
)
