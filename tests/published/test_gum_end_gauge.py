"""JCGM 100:2008 (GUM), Annex H.1: calibration of an end gauge of 50 mm, and table G.2.

The inputs and printed results are those of H.1 as quoted in a public test suite. Printed: combined
standard uncertainty 32 nm, 16 effective degrees of freedom, factor 2.92 and expanded uncertainty
93 nm at 99 %. Unrounded, recomputed: 31.711 nm, 16.656, 2.9208, 92.62 nm.
"""

import pytest

from alignment.geometry.measure.budget import STEEL_EXPANSION_PER_K, Component, combine
from alignment.geometry.measure.verdict import coverage_factor

NOMINAL_NM = 50_000_623

END_GAUGE = [
    Component("standard gauge", 25.0, 18),
    Component("difference", 9.7, 25.6),
    Component("difference of expansion", 0.58e-6, 50, sensitivity=NOMINAL_NM * 0.1),
    Component("difference of temperature", 0.029, 2, NOMINAL_NM * STEEL_EXPANSION_PER_K),
]


@pytest.fixture(scope="module")
def budget():
    return combine(END_GAUGE, probability=0.99)


def test_each_part_contributes_as_printed(budget):
    parts = [row.contribution for row in budget.components]
    assert parts == pytest.approx([25.0, 9.7, 2.9, 16.6], abs=0.1)


def test_the_combined_uncertainty_is_32_nm(budget):
    assert round(budget.u) == 32
    assert budget.u == pytest.approx(31.711, abs=5e-3)


def test_the_effective_degrees_of_freedom_are_16(budget):
    assert int(budget.dof) == 16
    assert budget.dof == pytest.approx(16.656, abs=5e-3)


def test_the_expanded_uncertainty_is_93_nm(budget):
    assert budget.k == pytest.approx(2.92, abs=5e-3)
    assert round(budget.expanded) == 93


@pytest.mark.parametrize(("probability", "factor"), [(0.95, 2.12), (0.9545, 2.17), (0.99, 2.92)])
def test_factors_for_16_degrees_are_those_of_table_g2(probability, factor):
    assert coverage_factor(16, probability) == pytest.approx(factor, abs=5e-3)
