"""Worked figures of rim-and-face practice: what a dial swept round a rim or a bore means.

Sources: Carrier 17/19EX service manual, p. 216 ("divide TIR by two"); US Army
TM 10-3930-664-24, p. 3-41 (sample readings of a flywheel housing, "for example only");
dieselmechanic.info, flywheel housing bore alignment (horizontal figure printed).
All in inches there; any one unit passes through the fit.
"""

import pytest

from alignment.geometry.measure.sweep import fit_sweep, predicted_readings

CLOCK = [0, 90, 180, 270]


def test_an_offset_is_half_the_total_indicator_reading():
    # Carrier: parallel limit 0.002 in TIR, which is an offset of 0.001 in. The dial is zeroed at
    # the top and reads plus at the bottom: the shaft the button rests on is low.
    fit = fit_sweep(CLOCK, [0, 0.001, 0.002, 0.001], surface="boss")
    assert (fit.tir_um, fit.offset_um) == pytest.approx((0.002, 0.001))
    assert fit.up_um == pytest.approx(-0.001)


def test_the_total_indicator_reading_is_highest_less_lowest():
    # TM 10-3930-664-24: 12 h 0.000, 3 h +0.003, 6 h -0.002, 9 h +0.003 give 0.005 in.
    fit = fit_sweep(CLOCK, [0, 0.003, -0.002, 0.003])
    assert fit.tir_um == pytest.approx(0.005)


def test_the_army_sample_is_no_sweep_of_a_round_bore():
    # The same four readings, "for example only": they fail to close by more than their TIR.
    fit = fit_sweep(CLOCK, [0, 0.003, -0.002, 0.003])
    assert fit.closure_um == pytest.approx(-0.008)
    assert abs(fit.closure_um) > fit.tir_um


HOUSING = [0.003, -0.002, 0, 0.004]  # 12, 3, 6, 9 h, zeroed at 6 h


def test_a_housing_bore_is_off_sideways_by_half_of_nine_less_three_o_clock():
    # dieselmechanic.info prints the horizontal total 9 h - 3 h as 0.006 in.
    fit = fit_sweep(CLOCK, HOUSING, surface="bore")
    assert 2 * fit.right_um == pytest.approx(0.006)


def test_the_same_housing_by_the_least_squares_circle():
    # Recomputed with the least-squares circle's sums for the same four readings.
    fit = fit_sweep(CLOCK, HOUSING, surface="bore")
    assert fit.up_um == pytest.approx(-0.0015)
    assert fit.offset_um == pytest.approx(0.0033541, abs=5e-8)
    assert abs(fit.residuals_um) == pytest.approx(0.00025)
    assert fit.closure_um == pytest.approx(0.001)


@pytest.mark.parametrize(("step", "half_tir"), [(90, 4.0000), (45, 4.9497), (30, 4.9641)])
def test_half_the_tir_falls_short_when_no_reading_stands_on_the_high_point(step, half_tir):
    # Exact by construction: an offset of 5 that lies at no angle of the layout.
    readings = predicted_readings(-4, 3, range(0, 360, step), "boss", None)
    fit = fit_sweep(range(0, 360, step), readings, surface="boss")
    assert fit.tir_um / 2 == pytest.approx(half_tir, abs=5e-5)
    assert fit.offset_um == pytest.approx(5)


def test_sag_is_taken_off_the_bottom_reading():
    # From memory of rim-and-face practice: observed -0.010 at the bottom with a sag check of
    # -0.006 leaves -0.004, an offset of 0.002.
    readings = [0, -0.005, -0.010, -0.005]
    fit = fit_sweep(CLOCK, readings, surface="boss", sag_um=-0.006)
    assert fit.corrected_um[2] == pytest.approx(-0.004)
    assert fit.offset_um == pytest.approx(0.002)
