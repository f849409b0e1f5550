"""Conformance probabilities of JCGM 106:2012, clause 7.4.

The inputs of the first case are quoted from 7.4 by metrologyrules.com (2022/03); those of the
second, the breakdown voltage of a Zener diode, are from memory. JCGM's printed answers were not
seen: the probabilities are recomputed from the normal distribution.
"""

import pytest

from alignment.geometry.verdict import probability_within


def test_two_limits():
    assert probability_within(13.6, 1.8, 16.3, 12.5) == pytest.approx(0.66263, abs=5e-6)


def test_what_falls_below_and_above():
    assert 1 - probability_within(13.6, 1.8, None, 12.5) == pytest.approx(0.27056, abs=5e-6)
    assert 1 - probability_within(13.6, 1.8, 16.3) == pytest.approx(0.06681, abs=5e-6)


def test_one_limit():
    assert probability_within(-5.47, 0.05, -5.40) == pytest.approx(0.9192, abs=5e-5)
