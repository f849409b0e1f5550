"""The dial while tapping, and the sweep afterwards."""

from dataclasses import dataclass

import numpy as np
import pytest

from alignment.geometry.adjust.dial import compare_with_plan, dial_after
from alignment.geometry.adjust.move import Place
from alignment.geometry.measure.sweep import fit_sweep, predicted_readings

FOUR = [0, 90, 180, 270]


def _sweep(right, up, u=1.0):
    return fit_sweep(FOUR, predicted_readings(right, up, FOUR), reading_u_um=u)


def test_a_bore_pushed_to_the_left_reads_more_on_the_right():
    assert dial_after(FOUR, [0, -10, 0, 10], -10, 0) == pytest.approx([0, 0, 0, 0])


def test_a_bar_pushed_to_the_left_reads_less_on_the_right():
    after = dial_after(FOUR, [0, 10, 0, -10], -10, 0, surface="boss")
    assert after == pytest.approx([0, 0, 0, 0])


def test_the_dials_zero_its_sag_and_the_form_stay():
    now = np.array([3.0, 8, 1, 5])
    change = dial_after(FOUR, now, 4, 2) - now
    assert change == pytest.approx(predicted_readings(4, 2, FOUR, "bore", None))


def test_a_slanted_lever_moves_more_than_the_station():
    after = dial_after(FOUR, [0, 0, 0, 0], -10, 0, lever_deg=60)
    assert after == pytest.approx([0, 20, 0, -20])


@pytest.mark.parametrize("lever_deg", [0, 30])
def test_sweeping_what_was_foretold_gives_the_target(lever_deg):
    now = np.array([3.0, 8, 1, 5])
    before = fit_sweep(FOUR, now, sag_um=4, lever_deg=lever_deg)
    foretold = dial_after(FOUR, now, 7 - before.right_um, -2 - before.up_um, lever_deg=lever_deg)
    after = fit_sweep(FOUR, foretold, sag_um=4, lever_deg=lever_deg)
    assert (after.right_um, after.up_um) == pytest.approx((7, -2))


def test_each_angle_needs_its_reading():
    with pytest.raises(ValueError, match="4 angles but 3 readings"):
        dial_after(FOUR, [0, 1, 2], 1, 0)


@dataclass
class Stood:
    """Where a station stood by a sweep."""

    front_um: float
    up_um: float
    covariance_um2: np.ndarray
    dof_u: float


def _as_placed(sweep):
    """With front at the right of the dial."""
    return Stood(sweep.right_um, sweep.up_um, sweep.covariance_um2, sweep.dof_u)


def _stood(front, up):
    return _as_placed(_sweep(front, up))


def test_a_move_that_came_out_within_the_uncertainty_agrees():
    result = compare_with_plan(_stood(40, 0), Place(0, 0), _stood(1, 1))
    assert (result.miss_front_um, result.miss_up_um) == pytest.approx((1, 1))
    assert result.agrees
    assert not result.wrong_way


def test_a_move_that_stopped_short_is_told_by_how_much_and_where():
    result = compare_with_plan(_stood(40, 0), Place(0, 0), _stood(15, 0))
    assert (result.miss_front_um, result.miss_up_um) == pytest.approx((15, 0))
    assert result.agrees is False
    assert not result.wrong_way


def test_a_move_the_wrong_way_is_noticed():
    assert compare_with_plan(_stood(40, 0), Place(0, 0), _stood(80, 0)).wrong_way


def test_a_station_that_needed_no_move_did_not_go_the_wrong_way():
    assert not compare_with_plan(_stood(0, 0), Place(0, 0), _stood(3, 0)).wrong_way


def test_sweeps_of_unknown_uncertainty_neither_agree_nor_disagree():
    angles = [0, 120, 240]
    unknown = fit_sweep(angles, predicted_readings(5, 0, angles))
    assert compare_with_plan(_stood(40, 0), Place(0, 0), _as_placed(unknown)).agrees is None


def test_sweeps_without_any_scatter_agree_only_when_they_hit():
    exact = fit_sweep(range(0, 360, 45), np.zeros(8))
    assert compare_with_plan(_as_placed(exact), Place(0, 0), _as_placed(exact)).agrees is True
    assert compare_with_plan(_as_placed(exact), Place(1, 0), _as_placed(exact)).agrees is False
