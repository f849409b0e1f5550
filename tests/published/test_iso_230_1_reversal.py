"""Reversal of a test mandrel, the idea of ISO 230-1 (JIS B 6190-1:2016 is the same text).

From memory; the case is exact by construction: readings of +0.010 and, with the mandrel turned by
180°, +0.002 mean 0.006 of machine and 0.004 of mandrel.
"""

import pytest

from alignment.geometry.measure.bar import check_bar


@pytest.fixture(scope="module")
def mandrel():
    return check_bar([0, 100], [0, 0.010], [0, 0], [0, 0.002], [0, 0])


def test_half_the_sum_is_the_machine(mandrel):
    assert mandrel.up.slope_um == pytest.approx(0.006)


def test_half_the_difference_is_the_mandrel(mandrel):
    assert mandrel.up.bar_um[1] == pytest.approx(0.004)
    assert mandrel.runout_far_um == pytest.approx(0.008)
