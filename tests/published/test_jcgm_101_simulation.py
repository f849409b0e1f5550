"""Budgets against JCGM 101's way, the distributions carried through the measurement by simulation.

The method is JCGM 101:2008, clauses 5 and 7 (from memory); every expected figure is what the
simulation with a fixed seed gives.
"""

import numpy as np
import pytest

from alignment.geometry.measure.budget import Component, combine, lever_row
from alignment.geometry.measure.conditions import Conditions
from alignment.geometry.measure.outcome import sweep_outcome
from alignment.geometry.measure.sweep import fit_sweep, fit_sweeps, predicted_readings

DRAWS = 200_000
FOUR = (0.0, 90.0, 180.0, 270.0)


@pytest.fixture
def rng():
    return np.random.default_rng(101)


def swept_up(height_um, **stated):
    fit = fit_sweep(FOUR, predicted_readings(0, height_um, FOUR), reading_u_um=0.5)
    return sweep_outcome([[fit]], "up", Conditions(typed_u_um=0.5, **stated)).budget


def test_readings_sag_and_warmth_together(rng):
    """Four readings with 0.5 µm each; a sag check with 2 µm, half of which reaches it; steel
    over 300 mm at ± 5 K."""
    readings = predicted_readings(0, 20, FOUR) + rng.normal(0, 0.5, (DRAWS, 4))
    up = fit_sweeps(FOUR, readings).up_um
    up = up - rng.normal(0, 2.0, DRAWS) / 2 + 11.5e-6 * 300_000 * rng.uniform(-5, 5, DRAWS)
    budget = swept_up(20, sag_u_um=2.0, temperature_k=5, length_mm=300)
    assert budget.u == pytest.approx(up.std(), rel=0.01)
    assert np.mean(np.abs(up - 20) <= budget.expanded) >= 0.9545


@pytest.mark.parametrize(("lever_deg", "within_deg"), [(0, 15), (10, 10), (30, 5)])
def test_a_lever_s_angle_whatever_its_place(rng, lever_deg, within_deg):
    """30 µm read with the cosine of the angle stated, while the true one lies anywhere within."""
    true = np.radians(lever_deg + rng.uniform(-within_deg, within_deg, DRAWS))
    off = 30 * (np.cos(true) / np.cos(np.radians(lever_deg)) - 1)
    row = lever_row(30, lever_deg, within_deg)
    assert row.contribution == pytest.approx(np.sqrt(np.mean(off**2)), rel=0.02)


def test_an_end_gauge_with_its_second_order_terms(rng):
    """JCGM 100, H.1: 31.7 nm to first order and 33.9 nm with the terms of second order (both
    recomputed); the budget is of first order and says so."""
    first = combine([Component("part", u) for u in (25.0, 9.7, 2.9, 16.6)])
    length, thermal = 50.000623e6, rng.uniform(9.5e-6, 13.5e-6, DRAWS)
    wander = rng.normal(-0.1, 0.41, DRAWS)
    drawn = rng.normal(0, 25.0, DRAWS) + rng.normal(215, 9.7, DRAWS)
    drawn -= length * (rng.uniform(-1e-6, 1e-6, DRAWS) * wander)
    drawn -= length * thermal * rng.uniform(-0.05, 0.05, DRAWS)
    assert first.u == pytest.approx(31.7, abs=0.1)
    assert drawn.std() == pytest.approx(33.9, abs=0.2)
