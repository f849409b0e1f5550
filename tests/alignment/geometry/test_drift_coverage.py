"""95 % intervals of rate and step hold the truth in 93 to 97 % of 5,000 simulated machines."""

import numpy as np
import pytest

from alignment.geometry.drift.fit import fit_drift
from tests.alignment.geometry.fleets import STEP_UM, borrow, covered, fleet

VISITS = [3, 5, 12]
PARTS = [pytest.param(1, id="single figures"), pytest.param(2, id="vectors")]
WALKS = [
    pytest.param(0.5, id="measurement outweighs the walk"),
    pytest.param(1.0, id="they are alike"),
    pytest.param(10.0, id="the walk outweighs the measurement"),
]


@pytest.mark.parametrize("walk_ratio", WALKS)
@pytest.mark.parametrize("parts", PARTS)
@pytest.mark.parametrize("visits", VISITS)
def test_the_interval_of_the_rate_covers(visits, parts, walk_ratio):
    machines = fleet(visits, parts=parts, walk_ratio=walk_ratio)
    fit = fit_drift(machines.intervals)
    assert 0.93 <= covered(fit.rate_low_um, machines.rate_um, fit.rate_high_um) <= 0.97


@pytest.mark.parametrize("parts", PARTS)
@pytest.mark.parametrize("visits", VISITS)
def test_the_interval_of_the_rate_covers_where_often_nothing_is_adjusted(visits, parts):
    machines = fleet(visits, parts=parts, share=0.5)
    fit = fit_drift(machines.intervals)
    assert 0.93 <= covered(fit.rate_low_um, machines.rate_um, fit.rate_high_um) <= 0.97


@pytest.mark.parametrize("share", [0.0, 0.5], ids=["always adjusted", "adjusted half the time"])
@pytest.mark.parametrize("parts", PARTS)
@pytest.mark.parametrize("visits", [5, 12])
def test_the_interval_of_a_step_covers(visits, parts, share):
    fit = fit_drift(fleet(visits, parts=parts, incident=1, share=share).intervals)
    assert 0.93 <= covered(fit.step_low_um[:, 1], STEP_UM, fit.step_high_um[:, 1]) <= 0.97


@pytest.mark.parametrize("parts", PARTS)
def test_with_three_visits_a_step_borrows_the_walk_of_its_like_and_covers(parts):
    """One undisturbed interval cannot show how a machine wanders; machines of the model can."""
    knocked = np.zeros((5000, 2), bool)
    knocked[::2, 1] = True
    machines = fleet(3, parts=parts, incident=knocked)
    fit = borrow(machines.intervals, np.zeros(5000, int)).fit
    low, high = fit.step_low_um[::2, 1], fit.step_high_um[::2, 1]
    assert 0.93 <= covered(low, STEP_UM, high) <= 0.97


def test_with_three_visits_and_nobody_to_borrow_from_a_step_has_no_interval():
    fit = fit_drift(fleet(3, machines=10, incident=1).intervals)
    assert np.isnan(fit.step_low_um).all()


def test_without_any_walk_the_interval_errs_to_caution():
    machines = fleet(5, walk_ratio=0.0)
    fit = fit_drift(machines.intervals)
    assert 0.95 <= covered(fit.rate_low_um, machines.rate_um, fit.rate_high_um) <= 0.98
