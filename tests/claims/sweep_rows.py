"""Claims about what a sweep says: where an axis lies, verdicts, what moved."""

from __future__ import annotations

import numpy as np

from alignment.geometry.conditions import Conditions
from alignment.geometry.difference import Figured, difference
from alignment.geometry.outcome import sweep_outcome
from alignment.geometry.quantity import OFFSET, RIGHT
from alignment.geometry.sweep import fit_sweep, fit_sweeps, predicted_readings
from alignment.geometry.vectors import region_factor
from alignment.geometry.verdict import Verdict, decide, probability_within
from tests.claims.claim import Case, Row

U_UM = 1.0


def clock(points, first=0.0):
    """So many angles, evenly round the clock."""
    return first + np.arange(points) * 360 / points


def swept(rng, runs, points, offset_um, *, stated=True):
    """Sweeps of one bore read at ``points``, with an error of 1 µm in each reading."""
    angles = clock(points)
    exact = predicted_readings(*offset_um, angles)
    readings = exact + U_UM * rng.normal(size=(runs, points))
    return fit_sweeps(angles, readings, reading_u_um=U_UM if stated else 0.0)


def axis_in_ellipse(points, stated):
    def simulate(rng, runs):
        truth = np.array([8.0, -3.0])
        fits = swept(rng, runs, points, truth, stated=stated)
        away = np.column_stack([fits.right_um, fits.up_um]) - truth
        distance = np.einsum("mi,mij,mj->m", away, np.linalg.inv(fits.covariance_um2), away)
        return distance <= region_factor(fits.dof_u)

    return simulate


def outcomes(rng, runs, points, offset_um, quantity, *, u_um=U_UM):
    """So many outcomes of a sweep of a bore whose centre lies at ``offset_um``."""
    angles = clock(points)
    exact = predicted_readings(*offset_um, angles)
    for _ in range(runs):
        readings = exact + u_um * rng.normal(size=points)
        fit = fit_sweep(angles, readings, reading_u_um=u_um)
        yield sweep_outcome([[fit]], quantity, Conditions(typed_u_um=u_um))


def offset_within_at_the_limit(points):
    def simulate(rng, runs):
        found = outcomes(rng, runs, points, (6.0, 8.0), OFFSET)
        return [decide(o.value_um, o.budget.u, 10.0, k=o.budget.k) is Verdict.WITHIN for o in found]

    return simulate


def within_less_told(quantity):
    """Within its limits or not, less how likely that was told to be."""

    def simulate(rng, runs):
        truth = rng.uniform(-12, 12, runs)
        figure = truth + U_UM * rng.normal(size=runs)
        told = [probability_within(one, U_UM, 10, -10) for one in figure]
        return (np.abs(truth) < 10) - np.array(told)

    return simulate


def moved_though_still(quantity):
    def simulate(rng, runs):
        right, up = rng.normal(0, U_UM, (2, runs, 2))
        value = np.hypot(right, up) if quantity == OFFSET else right
        return [
            difference(
                *(Figured(v, r, u, U_UM, 2 * U_UM) for v, r, u in zip(*both, strict=True)), quantity
            ).proven
            for both in zip(value, right, up, strict=True)
        ]

    return simulate


ROWS = (
    Row(
        "verdict",
        "an offset at its limit called within",
        "at most 2.5 %",
        0.0,
        0.025,
        tuple(Case(f"{n} points", offset_within_at_the_limit(n)) for n in (4, 8, 12)),
        runs=4000,
        short=1000,
    ),
    Row(
        "likely within",
        "within less what was told",
        "0 %",
        -0.03,
        0.03,
        (Case("a figure with a known u", within_less_told(RIGHT)),),
    ),
    Row(
        "moved",
        "a figure that did not move called moved",
        "5 %",
        0.0,
        0.06,
        (Case("a figure", moved_though_still(RIGHT)),),
    ),
    Row(
        "where the axis lies",
        "the ellipse holds the axis",
        "95 %",
        0.94,
        0.975,
        (
            Case("4 points, reading's u stated", axis_in_ellipse(4, True)),
            Case("8 points, reading's u stated", axis_in_ellipse(8, True)),
            Case("8 points, from the scatter alone", axis_in_ellipse(8, False)),
            Case("12 points, from the scatter alone", axis_in_ellipse(12, False)),
        ),
        runs=20000,
        short=4000,
    ),
)
