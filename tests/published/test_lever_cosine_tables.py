"""Cosine correction of lever indicators.

Sources: Mitutoyo catalogue 2019, p. 435 (factors in two figures and three worked lengths);
cncexpo.com and cnccookbook.com, cosine error (one worked length each at 60°). An older guide
prints 0.86 and 0.76 where the catalogue has 0.87 and 0.77, so factors are held to 0.01.
"""

import pytest

from alignment.geometry.measure.sweep import fit_sweep

FACTORS = [(10, 0.98), (20, 0.94), (30, 0.87), (40, 0.77), (50, 0.64), (60, 0.50)]


def _swing(lever_deg, reading):
    return fit_sweep([0, 90, 180, 270], [0, 0, reading, 0], lever_deg=lever_deg).tir_um


@pytest.mark.parametrize(("lever_deg", "factor"), FACTORS)
def test_the_factor_is_the_cosine_of_the_lever_angle(lever_deg, factor):
    assert _swing(lever_deg, 1.0) == pytest.approx(factor, abs=0.01)


@pytest.mark.parametrize(("lever_deg", "length"), [(10, 0.196), (20, 0.188), (30, 0.174)])
def test_two_tenths_of_a_millimetre_on_the_dial_as_the_catalogue_works_it(lever_deg, length):
    # The catalogue multiplies by its rounded factors; one unit of their last place is 0.002 mm.
    assert _swing(lever_deg, 0.200) == pytest.approx(length, abs=0.002)


@pytest.mark.parametrize(("reading", "length"), [(0.004, 0.002), (0.010, 0.005)])
def test_at_sixty_degrees_half_the_dial_is_true(reading, length):
    assert _swing(60, reading) == pytest.approx(length)
