"""The gauge study of the NIST/SEMATECH e-Handbook, section 2.6.1: resistivity of five wafers.

Data and results are those that the handbook's own R listing prints for probe 2362, in the form in
which public repositories keep it: run means of each wafer, differences from the wafers' averages,
levels of variability, and the budget with Welch and Satterthwaite's degrees of freedom (in ohm cm).
"""

import math

import numpy as np
import pytest

from alignment.geometry.gls import least_squares
from alignment.geometry.measure.budget import Component, combine

RUN_MEANS = np.array(
    [
        [95.09282, 99.30595, 96.03573, 101.06022, 94.21482],
        [95.12427, 99.30978, 96.07653, 101.07900, 94.24377],
    ]
)
OFF_THE_AVERAGE = np.array(
    [
        *(-0.0372, -0.0094, -0.0261, -0.0252, -0.0383),
        *(-0.0508, -0.0657, -0.0398, -0.0534, -0.0469),
    ]
)
DAYS = 0.03617  # pooled standard deviation of the six days' averages, with 50 degrees of freedom


def spread(observed, design):
    """Standard deviation of what a fit leaves over, and its degrees of freedom."""
    fit = least_squares(design, observed)
    return math.sqrt(fit.residual_sum / fit.dof), fit.dof


@pytest.fixture
def runs():
    """What is left between the two runs once each wafer has a mean of its own."""
    return spread(RUN_MEANS.ravel(), np.tile(np.eye(5), (2, 1)))


@pytest.fixture
def probe():
    return spread(OFF_THE_AVERAGE, np.ones((10, 1)))


def test_the_scatter_between_runs_is_pooled_over_the_wafers(runs):
    assert runs == (pytest.approx(0.0196, abs=5e-5), 5)


def test_the_scatter_of_the_probe_s_bias(probe):
    assert probe == (pytest.approx(0.0162, abs=5e-5), 9)


def test_the_budget_has_the_printed_u_degrees_of_freedom_and_expanded_uncertainty(runs, probe):
    budget = combine(
        [
            Component("days", DAYS, 50, math.sqrt(5 / 6)),
            Component("runs", *runs),
            Component("probe", *probe, math.sqrt(1 / 10)),
        ],
        probability=0.95,
    )
    assert budget.u == pytest.approx(0.03875842, rel=2e-4)
    assert round(budget.dof) == 42
    assert budget.expanded == pytest.approx(0.0782, abs=1e-4)
