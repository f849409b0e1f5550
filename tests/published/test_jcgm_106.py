"""Conformance probabilities of JCGM 106:2012, clause 7.4.

The inputs of the first case are quoted from 7.4 by metrologyrules.com (2022/03); those of the
second, the breakdown voltage of a Zener diode, are from memory. JCGM's printed answers were not
seen: the probabilities are recomputed from the normal distribution.
"""

import pytest

from alignment.geometry.measure.verdict import probability_within


def test_two_limits():
    assert probability_within(13.6, 1.8, 16.3, 12.5) == pytest.approx(0.66263, abs=5e-6)


def test_what_falls_below_and_above():
    assert 1 - probability_within(13.6, 1.8, None, 12.5) == pytest.approx(0.27056, abs=5e-6)
    assert 1 - probability_within(13.6, 1.8, 16.3) == pytest.approx(0.06681, abs=5e-6)


def test_one_limit():
    assert probability_within(-5.47, 0.05, -5.40) == pytest.approx(0.9192, abs=5e-5)


def test_with_one_degree_of_freedom_it_is_student_s():
    """Value 7.0, u 9.88/13.97, limit 10.16: 0.92991 by Student's t (computed), where the normal
    distribution would say over 99.9 %."""
    assert probability_within(7.0, 9.88 / 13.97, 10.16, dof=1) == pytest.approx(0.92991, abs=1e-5)


@pytest.mark.parametrize(
    ("distance", "chance"), [(0.0, 0.8646647168), (1.5, 0.5763207195), (2.0, 0.3964990393)]
)
def test_the_length_of_a_vector_is_held_within_a_circle(distance, chance):
    """A circle of two deviations: non-central chi-squared with two degrees of freedom (exact,
    computed), where a figure on a line would have 0.9545, 0.6912 and 0.5."""
    assert probability_within(distance, 1.0, 2.0, vector=True) == pytest.approx(chance, abs=1e-4)
