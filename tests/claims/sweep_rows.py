"""Claims about what a sweep says: where an axis lies, verdicts, chances, what moved."""

from __future__ import annotations

import math

import numpy as np

from alignment.geometry.adjust.positions import Link, place_stations
from alignment.geometry.measure.conditions import Conditions
from alignment.geometry.measure.difference import Figured, difference
from alignment.geometry.measure.judging import judge, likely_within
from alignment.geometry.measure.outcome import sweep_outcome
from alignment.geometry.measure.quantity import OFFSET, RIGHT, TIR
from alignment.geometry.measure.sweep import fit_sweep, fit_sweeps, predicted_readings
from alignment.geometry.measure.verdict import (
    POINTS_OFF_ALONE,
    POINTS_OFF_WIDE,
    Rule,
    Verdict,
    coverage_factor,
)
from alignment.geometry.vectors import region_factor
from tests.claims.claim import Case, Row

U_UM, LIMIT_UM = 0.5, 10.0
_TURN = np.radians(np.arange(360.0))


def clock(points):
    """So many angles, evenly round the clock."""
    return np.arange(points) * 360 / points


# Where an axis lies.


def axis_in_ellipse(points, stated):
    def simulate(rng, runs):
        truth = np.array([8.0, -3.0])
        exact = predicted_readings(*truth, clock(points))
        readings = exact + U_UM * rng.normal(size=(runs, points))
        fits = fit_sweeps(clock(points), readings, reading_u_um=U_UM if stated else 0.0)
        away = np.column_stack([fits.right_um, fits.up_um]) - truth
        distance = np.einsum("mi,mij,mj->m", away, np.linalg.inv(fits.covariance_um2), away)
        return distance <= region_factor(fits.dof_u)

    return simulate


# Verdicts at the limit.


def swept(rng, points, offset, oval, *, lobes=2, lever_deg=0.0, error_um=0.0):
    """A sweep of a boss, and its true run-out: off by ``offset`` and with so many ``lobes`` of
    peak to valley ``oval`` (µm), at any clock position; brought to the limit if asked for."""
    offset_at, oval_at = rng.uniform(0, 2 * np.pi, 2)

    def surface(theta):
        return offset * np.cos(theta - offset_at) + oval / 2 * np.cos(lobes * theta - oval_at)

    scale = LIMIT_UM / np.ptp(surface(_TURN))
    angles = clock(points)
    readings = scale * surface(np.radians(angles)) + U_UM * rng.normal(size=points)
    return fit_sweep(angles, readings, surface="boss", reading_u_um=U_UM), scale * oval


def run_out_within(points, share, *, lobes=2, stated=True, rule=Rule.ONE_SIDED):
    """A run-out at its limit, ``share`` of it form: is it called within?"""

    def simulate(rng, runs):
        said = np.zeros(runs)
        for run in range(runs):
            fit, oval = swept(rng, points, (1 - share) / 2, share, lobes=lobes)
            conditions = Conditions(typed_u_um=U_UM, form_um=oval if stated else None)
            outcome = sweep_outcome([[fit]], TIR, conditions)
            said[run] = judge(outcome, TIR, LIMIT_UM, None, rule).verdict is Verdict.WITHIN
        return said

    return simulate


def offset_within(points, *, lobes=0, form_um=0.0, stated=True, rule=Rule.ONE_SIDED):
    """An offset at its limit: is it called within?"""

    def simulate(rng, runs):
        said = np.zeros(runs)
        angles = clock(points)
        for run in range(runs):
            clock_rad, form_at = rng.uniform(0, 2 * np.pi, 2)
            centre = LIMIT_UM * np.sin(clock_rad), LIMIT_UM * np.cos(clock_rad)
            readings = predicted_readings(*centre, angles) + U_UM * rng.normal(size=points)
            readings += form_um / 2 * np.cos(lobes * np.radians(angles) - form_at)
            fit = fit_sweep(angles, readings, reading_u_um=U_UM)
            conditions = Conditions(typed_u_um=U_UM, form_um=form_um if stated else None)
            outcome = sweep_outcome([[fit]], OFFSET, conditions)
            said[run] = judge(outcome, OFFSET, LIMIT_UM, None, rule).verdict is Verdict.WITHIN
        return said

    return simulate


def lever_held(lever_deg, within_deg):
    """U of a figure read with a lever whose angle is only known to ± some degrees."""

    def simulate(rng, runs):
        held = np.zeros(runs, bool)
        conditions = Conditions(typed_u_um=0.05, lever_deg=lever_deg, lever_error_deg=within_deg)
        for run in range(runs):
            angle = np.radians(lever_deg + rng.uniform(-within_deg, within_deg))
            shown = predicted_readings(30.0, 0.0, clock(8)) / np.cos(angle)
            shown += 0.05 * rng.normal(size=8)
            fit = fit_sweep(clock(8), shown, lever_deg=lever_deg, reading_u_um=0.05)
            outcome = sweep_outcome([[fit]], RIGHT, conditions)
            held[run] = abs(outcome.value_um - 30.0) <= outcome.budget.expanded
        return held

    return simulate


def expanded_held(points, *, repeats=1, stated=False):
    """U of an offset from what its readings leave over: alone, or beside an indicator's stated
    resolution, and perhaps from several sweeps that scatter as much."""

    def simulate(rng, runs):
        held = np.zeros(runs, bool)
        exact = predicted_readings(30.0, 0.0, clock(points))
        conditions = Conditions(resolution_um=U_UM if stated else 0.0, form_um=0.0)
        for run in range(runs):
            fits = [
                fit_sweep(clock(points), exact + U_UM * rng.normal(size=points))
                for _ in range(repeats)
            ]
            outcome = sweep_outcome([fits], RIGHT, conditions)
            held[run] = abs(outcome.value_um - 30.0) <= outcome.budget.expanded
        return held

    return simulate


def typed_held(points, times):
    """U of an offset whose readings err by so many times what was typed of one."""

    def simulate(rng, runs):
        held = np.zeros(runs, bool)
        exact = predicted_readings(30.0, 0.0, clock(points))
        conditions = Conditions(typed_u_um=U_UM, form_um=0.0)
        for run in range(runs):
            readings = exact + times * U_UM * rng.normal(size=points)
            fit = fit_sweep(clock(points), readings, reading_u_um=U_UM)
            outcome = sweep_outcome([[fit]], RIGHT, conditions)
            held[run] = abs(outcome.value_um - 30.0) <= outcome.budget.expanded
        return held

    return simulate


def grown_held(within, *, read_as_fixed):
    """U of an offset read with an indicator whose error grows by 3 µm on 100 µm of travel, whether
    or not its certificate is read so: an offset of 30 µm travels 60."""

    def simulate(rng, runs):
        held = np.zeros(runs, bool)
        exact = predicted_readings(within, 0.0, clock(8), zero_at_deg=270.0)
        travel_um = np.ptp(exact)
        error_um = 3.0 if read_as_fixed else 3.0 * travel_um / 100
        conditions = Conditions(error_um=error_um, resolution_um=0.2, form_um=0.0)
        for run in range(runs):
            grows = 1 + rng.uniform(-1, 1) * 3 / 100
            shown = np.round(grows * exact / 0.2) * 0.2
            fit = fit_sweep(clock(8), shown, reading_u_um=conditions.reading_u_um)
            outcome = sweep_outcome([[fit]], RIGHT, conditions)
            held[run] = abs(outcome.value_um - within) <= outcome.budget.expanded
        return held

    return simulate


# How likely it lies within: of what is told as so likely, how much does.


def told_and_true(rng, runs, *, vector, dof, limit, error):
    """The chance told and whether it was so, of figures that may lie anywhere; the ``error`` is
    told from so few degrees of freedom, or known."""
    u = error * (np.sqrt(rng.chisquare(dof, runs) / dof) if dof < 1e3 else np.ones(runs))
    truth = (limit + 6 * error) * rng.uniform(-1, 1, (runs, 2 if vector else 1))
    found = truth + error * rng.normal(size=truth.shape)
    figure = np.linalg.norm(found, axis=1)
    told = np.full(runs, np.nan)
    for run in np.flatnonzero(figure < limit + 6 * u):
        how = {"dof": dof, "vector": vector}
        lower = None if vector else -limit
        value = figure[run] if vector else found[run, 0]
        told[run] = likely_within(value, u[run], limit, lower, **how)
    return told, np.linalg.norm(truth, axis=1) < limit


def diagram(low, high, *, vector=False, dof=math.inf, limit=10.0, error=1.0):
    """True less told, of what was told as between ``low`` and ``high`` likely."""

    def simulate(rng, runs):
        # Of vectors anywhere in a plane few lie near the circle.
        many = runs * (10 if vector else 6)
        told, true = told_and_true(rng, many, vector=vector, dof=dof, limit=limit, error=error)
        return np.where((told >= low) & (told < high), true - told, np.nan)

    return simulate


BINS = ((0.05, 0.35), (0.35, 0.65), (0.65, 0.95))
KNOWN_U = (
    ("a figure", {}),
    ("a vector, circle of 10 u", {"vector": True}),
    ("a vector, circle of 2 u", {"vector": True, "limit": 2.0}),
)


def few(dof):
    return (
        ("a figure, error of a tenth of the limit", {"dof": dof}),
        ("a figure, error of a third of it", {"dof": dof, "error": 10 / 3}),
        ("a vector, error of a tenth of the limit", {"dof": dof, "vector": True}),
        ("a vector, error of a fifth of it", {"dof": dof, "error": 2.0, "vector": True}),
    )


def wide(dof):
    how = {"dof": dof, "error": 5.0, "vector": True}
    return (f"a vector, {dof:.0f} degrees of freedom", how)


def diagrams(figures):
    return tuple(
        Case(f"{words}, told {100 * low:.0f} to {100 * high:.0f} %", diagram(low, high, **how))
        for words, how in figures
        for low, high in BINS
    )


# What moved.


def moved_though_still(quantity, dof=math.inf):
    def simulate(rng, runs):
        k = coverage_factor(dof)
        moved = np.zeros(runs)
        for run in range(runs):
            found = rng.normal(0, 1, (2, 2))
            u = np.sqrt(rng.chisquare(dof, 2) / dof) if dof < 1e3 else np.ones(2)
            ends = [
                Figured(np.hypot(*at) if quantity == OFFSET else at[0], *at, one, k)
                for at, one in zip(found, u, strict=True)
            ]
            moved[run] = difference(*ends, quantity).proven
        return moved

    return simulate


def not_closing(dof):
    """Three stations whose links close: are they said not to?"""

    def simulate(rng, runs):
        said = np.zeros(runs)
        for run in range(runs):
            u = math.sqrt(rng.chisquare(dof) / dof) if dof < 1e3 else 1.0
            one, two, loop = (
                Link(station, datum, z_mm, rng.normal(size=2), u**2 * np.eye(2), dof)
                for station, datum, z_mm in (("b", "a", 100), ("c", "b", 300), ("c", "a", 300))
            )
            (closure,) = place_stations([one, two], "a", [loop]).closures
            said[run] = closure.closes is False
        return said

    return simulate


ROUND, HALF, OVAL = (0.0, "round"), (0.5, "half oval"), (1.0, "all oval")

ROWS = (
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
    Row(
        "verdict",
        "a run-out at its limit called within, form stated where there are four points",
        "at most 2.5 %",
        0.0,
        0.025,
        tuple(
            Case(f"{points} points, {words}", run_out_within(points, share, stated=points < 8))
            for points in (4, 8, 12)
            for share, words in (ROUND, HALF, OVAL)
        ),
        runs=2000,
        short=150,
    ),
    Row(
        "verdict",
        "a run-out at its limit called within, three or four points and no form stated",
        "never",
        0.0,
        0.0,
        tuple(
            Case(f"{points} points, {words}", run_out_within(points, share, stated=False))
            for points in (3, 4)
            for share, words in (ROUND, OVAL)
        ),
        runs=1000,
        short=50,
    ),
    Row(
        "verdict",
        "a run-out with three lobes at its limit called within",
        "at most 2.5 %",
        0.0,
        0.025,
        tuple(
            Case(f"{points} points", run_out_within(points, 0.5, lobes=3, stated=False))
            for points in (8, 12)
        ),
        runs=1500,
        short=100,
    ),
    Row(
        "verdict",
        "an offset at its limit called within, 95 % one-sided",
        "at most 5 %",
        0.0,
        0.05,
        (
            *(Case(f"{points} points", offset_within(points)) for points in (3, 4, 8)),
            Case("4 points, oval by 6 µm", offset_within(4, lobes=2, form_um=6.0)),
            Case("3 points, oval by 6 µm, stated", offset_within(3, lobes=2, form_um=6.0)),
        ),
        runs=2000,
        short=150,
    ),
    Row(
        "verdict",
        "an offset at its limit called within, by the expanded uncertainty",
        "at most 2.5 %",
        0.0,
        0.025,
        tuple(
            Case(f"{points} points", offset_within(points, rule=Rule.EXPANDED)) for points in (4, 8)
        ),
        runs=2000,
        short=150,
    ),
    Row(
        "verdict",
        "U holds a figure, from what its readings leave over",
        "95.45 %",
        0.94,
        1.0,
        (
            *(Case(f"{points} points", expanded_held(points)) for points in (4, 8, 12)),
            Case("8 points, resolution stated", expanded_held(8, stated=True)),
            Case("three sweeps of 4 points", expanded_held(4, repeats=3)),
        ),
        runs=2000,
        short=100,
    ),
    Row(
        "verdict",
        "U holds a figure read with a lever whose angle is roughly known",
        "95.45 %",
        0.93,
        1.0,
        (
            Case("0 ± 15°", lever_held(0, 15)),
            Case("10 ± 10°", lever_held(10, 10)),
            Case("30 ± 5°", lever_held(30, 5)),
        ),
        runs=2000,
        short=150,
    ),
    Row(
        "verdict",
        "U holds a figure read with an indicator whose error grows with travel",
        "95.45 %",
        0.94,
        1.0,
        tuple(
            Case(f"{within} µm off, stated per travel", grown_held(within, read_as_fixed=False))
            for within in (30, 100)
        ),
        runs=1000,
        short=60,
    ),
    Row(
        "verdict",
        "U holds a figure whose readings' uncertainty was typed 30 % too small",
        "95.45 %",
        0.80,
        0.95,
        tuple(Case(f"{points} points", typed_held(points, 1 / 0.7)) for points in (3, 4, 8, 12)),
        runs=4000,
        short=200,
        broken=True,
        caution="Typed 30 % too small",
    ),
    Row(
        "likely within",
        "true less told, from 5 to 95 % likely, u known",
        "0 %",
        -0.03,
        0.03,
        diagrams(KNOWN_U),
        runs=3000,
        short=150,
    ),
    *(
        Row(
            "likely within",
            f"true less told, u from {dof:.0f} degrees of freedom",
            "0 %",
            -0.03,
            0.03,
            diagrams(few(dof)),
            runs=2000,
            short=80,
        )
        for dof in (2.0, 3.0, 5.0, 8.0)
    ),
    Row(
        "likely within",
        "true less told, u from one degree of freedom",
        f"0, give or take {POINTS_OFF_ALONE} %",
        -POINTS_OFF_ALONE / 100,
        POINTS_OFF_ALONE / 100,
        diagrams(few(1.0)),
        runs=1500,
        short=80,
        caution="of lying within may be off by up to",
    ),
    Row(
        "likely within",
        "true less told, u from few degrees of freedom and half of the limit",
        f"0, give or take {POINTS_OFF_WIDE} %",
        -POINTS_OFF_WIDE / 100,
        POINTS_OFF_WIDE / 100,
        diagrams(wide(dof) for dof in (1.0, 2.0, 5.0)),
        runs=1500,
        short=80,
        caution="of lying within may be off by up to",
    ),
    Row(
        "closing",
        "a loop that closes said not to",
        "5 %",
        0.0,
        0.06,
        (
            Case("u known", not_closing(math.inf)),
            Case("u from 5 degrees of freedom for all", not_closing(5.0)),
        ),
        runs=3000,
        short=200,
    ),
    Row(
        "moved",
        "what did not move called moved",
        "5 %",
        0.0,
        0.055,
        (
            Case("a figure", moved_though_still(RIGHT)),
            Case("an offset", moved_though_still(OFFSET)),
            Case("an offset, u from 5 degrees of freedom", moved_though_still(OFFSET, 5.0)),
            Case("a figure, u from 2 degrees of freedom", moved_though_still(RIGHT, 2.0)),
        ),
        runs=5000,
        short=1000,
    ),
)
