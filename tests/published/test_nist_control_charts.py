"""Control charts against the worked examples of the NIST/SEMATECH e-Handbook.

EWMA: section 6.3.2.4, https://www.itl.nist.gov/div898/handbook/pmc/section3/pmc324.htm, the 21
values and both limits as printed there (quoted in a public test suite). CUSUM: section 6.3.2.3,
.../pmc323.htm, data, k and h as given there (quoted in a public repository); NIST's own table of
the sums was not seen, so the sums expected here are worked out by hand from the definition.
"""

import numpy as np
import pytest

from alignment.geometry.change import cusum, ewma

EWMA_DATA = [
    *(52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5),
    *(49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1),
]
EWMA_PRINTED = [
    *(50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33),
    *(50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99),
]
CUSUM_DATA = [
    *(324.93, 324.68, 324.73, 324.35, 325.35, 325.23, 324.13, 324.53, 325.23, 324.60),
    *(324.63, 325.15, 328.33, 327.25, 327.83, 328.50, 326.68, 327.78, 326.88, 328.35),
]
CUSUM_HIGH = [
    *(0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0),
    *(3.01, 4.94, 7.46, 10.64, 12.00, 14.46, 16.03, 19.06),
]


def nist_ewma():
    return ewma(EWMA_DATA, 50, 2.0539, weight=0.3, width=3)


def nist_cusum():
    return cusum(CUSUM_DATA, 325, slack=0.3175, decision=4.1959)


def test_the_moving_averages_are_the_printed_ones():
    np.testing.assert_array_equal(np.round(nist_ewma().value, 2), EWMA_PRINTED)


def test_the_upper_limit_is_the_printed_one():
    assert nist_ewma().upper[-1] == pytest.approx(52.5884, abs=5e-5)


def test_the_lower_limit_is_the_printed_one():
    """The page cuts 47.41157 off after four places."""
    assert nist_ewma().lower[-1] == pytest.approx(47.4115, abs=1e-4)


def test_no_moving_average_is_out_of_control():
    assert not nist_ewma().outside.any()


def test_the_upward_sums_are_those_worked_out_from_the_definition():
    np.testing.assert_allclose(nist_cusum().high, CUSUM_HIGH, atol=0.0051)


def test_the_downward_sum_is_largest_at_the_eighth_sample():
    low = nist_cusum().low
    assert (low.argmax() + 1, low.max()) == (8, pytest.approx(0.71, abs=0.005))


def test_the_first_alarm_comes_at_the_fourteenth_sample():
    assert nist_cusum().first_alarm + 1 == 14
