"""Decision rule of ISO 14253-1: keep clear of the limit by the expanded uncertainty.

The rule is from memory; its figures are exact by construction: limit 0.010, U = 0.002 with k = 2,
so u = 0.001. With k = 1.6449, the 95 % one-sided normal quantile, the limit for acceptance and
its conformance probability are recomputed from the normal distribution.
"""

import pytest

from alignment.geometry.measure.verdict import Rule, decide, guard_factor, probability_within

LIMIT, U = 0.010, 0.001


@pytest.mark.parametrize(
    ("figure", "word"),
    [
        (0.0070, "within"),
        (0.0081, "not proven"),
        (0.0119, "not proven"),
        (0.0121, "outside"),
    ],
)
def test_conformity_and_nonconformity_must_both_be_proved(figure, word):
    assert decide(figure, U, LIMIT) == word


def test_a_guard_band_of_1_6449_u_gives_95_per_cent():
    assert probability_within(0.0083551, U, LIMIT) == pytest.approx(0.95, abs=1e-4)
    assert decide(0.00835, U, LIMIT, k=1.6449) == "within"
    assert decide(0.00836, U, LIMIT, k=1.6449) == "not proven"


def test_a_guard_band_of_two_u_gives_977_in_1000():
    assert probability_within(LIMIT - 2 * U, U, LIMIT) == pytest.approx(0.97725, abs=5e-6)


def test_the_guard_band_by_each_rule():
    """The 2017 edition's default and the expanded uncertainty of the editions before; both from
    memory, the quantile recomputed."""
    assert guard_factor(Rule.ONE_SIDED, float("inf")) == pytest.approx(1.6448536269514722)
    assert guard_factor(Rule.EXPANDED, float("inf")) == pytest.approx(2.0, abs=1e-5)


def test_a_badly_known_uncertainty_takes_student_s_factor():
    """t for 95 % one-sided: 6.314 with one degree of freedom, 2.920 with two (any table of t)."""
    assert guard_factor(Rule.ONE_SIDED, 1) == pytest.approx(6.314, abs=5e-4)
    assert guard_factor(Rule.ONE_SIDED, 2) == pytest.approx(2.920, abs=5e-4)
