"""The control chart against the worked example of the NIST/SEMATECH e-Handbook.

CUSUM: section 6.3.2.3, https://www.itl.nist.gov/div898/handbook/pmc/section3/pmc323.htm, data, k
and h as given there (quoted in a public repository); NIST's own table of the sums was not seen, so
the sums expected here are worked out by hand from the definition.
"""

import numpy as np
import pytest

from alignment.geometry.drift.change import cusum

CUSUM_DATA = [
    *(324.93, 324.68, 324.73, 324.35, 325.35, 325.23, 324.13, 324.53, 325.23, 324.60),
    *(324.63, 325.15, 328.33, 327.25, 327.83, 328.50, 326.68, 327.78, 326.88, 328.35),
]
CUSUM_HIGH = [
    *(0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0),
    *(3.01, 4.94, 7.46, 10.64, 12.00, 14.46, 16.03, 19.06),
]


def nist_cusum():
    return cusum(CUSUM_DATA, 325, slack=0.3175, decision=4.1959)


def test_the_upward_sums_are_those_worked_out_from_the_definition():
    np.testing.assert_allclose(nist_cusum().high, CUSUM_HIGH, atol=0.0051)


def test_the_downward_sum_is_largest_at_the_eighth_sample():
    low = nist_cusum().low
    assert (low.argmax() + 1, low.max()) == (8, pytest.approx(0.71, abs=0.005))


def test_the_first_alarm_comes_at_the_fourteenth_sample():
    assert nist_cusum().alarm.argmax() + 1 == 14
