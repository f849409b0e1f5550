"""Run-out from a few points: an oval between them, and what is said where they cannot show it."""

import math

import numpy as np
import pytest

from alignment.geometry.measure.conditions import Conditions
from alignment.geometry.measure.judging import judge
from alignment.geometry.measure.outcome import sweep_outcome
from alignment.geometry.measure.runout import oval_in_offset, run_out, shows_oval
from alignment.geometry.measure.sweep import fit_sweep
from alignment.geometry.measure.verdict import Rule, Verdict


def clock(points):
    return np.arange(points) * 360 / points


def swept(points, *, offset=0.0, oval=0.0, at_deg=0.0, u=0.1):
    """A boss off by ``offset`` and out of round by ``oval`` from peak to valley, its long way at
    ``at_deg``."""
    angles = clock(points)
    turned = np.radians(angles)
    away = offset * np.cos(turned) + oval / 2 * np.cos(2 * (turned - math.radians(at_deg)))
    return fit_sweep(angles, away, surface="boss", reading_u_um=u)


@pytest.mark.parametrize(("points", "least"), [(4, 1.41421), (8, 1.84776)])
def test_highest_less_lowest_falls_short_of_twice_the_offset(points, least):
    """2e·cos(180°/N) at worst (geometry, computed); the curve through the readings does not."""
    angles = clock(points)
    between = np.cos(np.radians(angles - 180 / points))
    fit = fit_sweep(angles, between, surface="boss")
    assert fit.tir_um == pytest.approx(least, abs=5e-6)
    assert run_out(fit, 0.0).value_um == pytest.approx(2.0)


@pytest.mark.parametrize("at_deg", [0, 10, 22.5, 30])
@pytest.mark.parametrize("points", [8, 12])
def test_eight_points_see_an_oval_wherever_it_lies(points, at_deg):
    found = run_out(swept(points, oval=6.0, at_deg=at_deg))
    assert found.value_um == pytest.approx(6.0, abs=1e-3)
    assert found.beyond_um == pytest.approx(0.0, abs=1e-9)


def test_four_points_may_see_nothing_of_an_oval():
    fit = swept(4, oval=6.0, at_deg=45)
    assert fit.tir_um == pytest.approx(0.0, abs=1e-9)
    assert run_out(fit).beyond_um == math.inf
    assert run_out(fit, 6.0).beyond_um == pytest.approx(6.0)


def test_three_points_take_an_oval_for_an_offset_and_four_do_not():
    assert oval_in_offset(clock(3)) == pytest.approx(1.0)
    assert oval_in_offset(clock(4)) == 0.0
    assert swept(3, oval=6.0).offset_um == pytest.approx(3.0)


def test_eight_points_on_one_side_show_no_oval():
    assert not shows_oval(np.arange(8) * 5.0)


def verdict(fit, quantity, upper, form=None):
    outcome = sweep_outcome([[fit]], quantity, Conditions(typed_u_um=0.1, form_um=form))
    return judge(outcome, quantity, upper, None, Rule.ONE_SIDED)


@pytest.mark.parametrize(
    ("points", "form", "word"),
    [
        (4, None, Verdict.NOT_PROVEN),
        (4, 1.0, Verdict.WITHIN),
        (4, 9.0, Verdict.NOT_PROVEN),
        (8, None, Verdict.WITHIN),
    ],
)
def test_a_small_run_out_is_within_only_where_form_is_seen_or_stated(points, form, word):
    assert verdict(swept(points, offset=2.0), "tir", 10.0, form).verdict is word


def test_what_the_dial_itself_shows_beyond_the_limit_is_outside_whatever_the_form():
    assert verdict(swept(4, offset=8.0), "tir", 10.0).verdict is Verdict.OUTSIDE


@pytest.mark.parametrize("offset", [1.0, 30.0])
def test_three_points_prove_nothing_of_an_offset_without_a_stated_form(offset):
    said = verdict(swept(3, offset=offset), "offset", 10.0)
    assert (said.verdict, said.likely) == (Verdict.NOT_PROVEN, None)
    assert verdict(swept(3, offset=offset), "offset", 10.0, 1.0).verdict is not Verdict.NOT_PROVEN


def test_the_guard_band_is_told_as_a_figure():
    """An offset from four readings of u 0.1 µm: 0.0707 µm, times 1.645."""
    assert verdict(swept(4, offset=1.0), "offset", 10.0).guard_um == pytest.approx(0.1163, abs=1e-4)
