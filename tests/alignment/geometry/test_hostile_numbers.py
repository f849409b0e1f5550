"""Numbers that nobody measures end in a ValueError in words, never in a figure."""

import numpy as np
import pytest

from alignment.geometry.adjust.move import Place
from alignment.geometry.adjust.screws import JackScrews
from alignment.geometry.drift.fit import fit_belief
from alignment.geometry.drift.forecast import forecast
from alignment.geometry.drift.intervals import make_intervals
from alignment.geometry.drift.prediction import Start
from alignment.geometry.drift.tolerance import Limits
from alignment.geometry.measure.sweep import fit_sweep
from alignment.geometry.measure.verdict import probability_within

MOVES = make_intervals(np.ones((1, 4)), np.array([[1.0, 2.0, 0.5, 1.5]]), 1.0, 1.0)


@pytest.mark.parametrize("far", [1e200, -1e200])
def test_a_reading_far_beyond_anything(far):
    with pytest.raises(ValueError, match="can be measured"):
        fit_sweep([0, 90, 180, 270], [0, 0, far, 0])


@pytest.mark.parametrize("variance", [np.nan, np.inf, -1.0])
def test_a_measurement_whose_variance_is_none(variance):
    with pytest.raises(ValueError, match="variance must be a number"):
        make_intervals(np.ones((1, 2)), np.zeros((1, 2)), variance, 1.0)


@pytest.mark.parametrize("variance", [np.nan, np.inf, -1.0])
def test_a_start_whose_variance_is_none(variance):
    with pytest.raises(ValueError, match="starting variance"):
        forecast(
            fit_belief(MOVES), Start(np.zeros((1, 1)), variance), Limits(-9.0, 9.0), horizon=5.0
        )


@pytest.mark.parametrize("now", [-1.0, np.nan])
def test_a_start_that_is_still_to_come(now):
    with pytest.raises(ValueError, match="time gone"):
        forecast(
            fit_belief(MOVES), Start(np.zeros((1, 1)), 1.0), Limits(-9.0, 9.0), horizon=5.0, now=now
        )


def test_a_screw_between_two_screws():
    screws = JackScrews(radius_mm=50, angles_deg=[0, 120, 240], pitch_mm=1, hold=1.5)
    with pytest.raises(ValueError, match="no screw number"):
        screws.plan(Place(0, 0, 0, 20))


@pytest.mark.parametrize("dof", [-1.0, float("nan")])
def test_degrees_of_freedom_that_are_none(dof):
    with pytest.raises(ValueError, match="Degrees of freedom"):
        probability_within(1, 1, 2, dof=dof)
