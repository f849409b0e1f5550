"""A test bar read along its length, plain and turned by half a turn."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.measure.bar import check_bar

Z = np.array([0.0, 50, 100, 150, 200])


def test_a_bar_that_rises_towards_its_free_end_reads_plus():
    found = check_bar(Z, 0.02 * Z, 0 * Z)
    assert found.up.slope_um == pytest.approx(2)
    assert found.right.slope_um == pytest.approx(0)


def test_an_indicator_on_the_left_reads_plus_where_the_bar_runs_to_the_left():
    assert check_bar(Z, 0 * Z, 0.02 * Z, side="left").right.slope_um == pytest.approx(-2)


def test_a_slope_is_told_for_the_stated_length():
    assert check_bar(Z, 0.02 * Z, 0 * Z, per_mm=300).up.slope_um == pytest.approx(6)


def test_turning_the_bar_separates_it_from_the_machine():
    machine, bar = 0.01 * Z, 3 + 0.04 * Z
    found = check_bar(Z, machine + bar, bar, machine - bar, -bar)
    assert found.separated
    assert found.up.slope_um == pytest.approx(1)
    assert found.up.bar_um == pytest.approx(bar)
    assert found.right.slope_um == pytest.approx(0)


def test_the_bars_run_out_is_twice_its_eccentricity():
    found = check_bar(Z, 3 + 0 * Z, 4 + 0.01 * Z, -3 + 0 * Z, -4 - 0.01 * Z)
    assert found.runout_near_um == pytest.approx(10)
    assert found.runout_far_um == pytest.approx(2 * np.hypot(3, 6))


def test_a_bar_that_was_not_turned_keeps_its_error_in_the_slope():
    found = check_bar(Z, 0.05 * Z, 0 * Z)
    assert not found.separated
    assert (found.up.bar_um, found.runout_near_um, found.runout_far_um) == (None, None, None)


def test_what_is_left_of_the_line_is_straightness():
    found = check_bar([0, 50, 100], [0, 3, 0], [0, 0, 0])
    assert found.up.straightness_um == pytest.approx(3)
    assert found.right.straightness_um == pytest.approx(0)


def test_two_positions_tell_nothing_of_straightness_or_scatter():
    found = check_bar([0, 100], [0, 3], [0, 0])
    assert found.up.straightness_um is None
    assert (found.up.u_slope_um, found.up.dof_u) == (np.inf, 0)


def test_a_stated_reading_gives_the_slope_its_uncertainty():
    found = check_bar([0, 100], [0, 3], [0, 0], reading_u_um=1.0)
    assert found.up.u_slope_um == pytest.approx(np.sqrt(2))


def test_a_turned_bar_is_surer_by_the_root_of_two():
    found = check_bar([0, 100], [0, 3], [0, 0], [0, 3], [0, 0], reading_u_um=1.0)
    assert found.up.u_slope_um == pytest.approx(1)


GOOD = ([0, 50], [0, 1], [0, 1])
REFUSED = [
    (([0], [1], [1]), {}, "two positions at least"),
    (([0, 0], [1, 2], [1, 2]), {}, "grow towards its free end"),
    (([50, 0], [1, 2], [1, 2]), {}, "grow towards its free end"),
    (([0, 50], [1], [1, 2]), {}, "2 positions but 1 top"),
    (([0, 50], [1, 2], [1, 2, 3]), {}, "2 positions but 3 side"),
    (([0, 50], [1, float("nan")], [1, 2]), {}, "finite"),
    (GOOD, {"top_turned_um": [0, 1]}, "one plane only"),
    (GOOD, {"side": "front"}, "right or left"),
    (GOOD, {"per_mm": 0}, "more than zero"),
    (GOOD, {"reading_u_um": -1}, "cannot be negative"),
]


@pytest.mark.parametrize(("readings", "how", "reason"), REFUSED)
def test_readings_that_allow_no_check_say_why(readings, how, reason):
    with pytest.raises(ValueError, match=reason):
        check_bar(*readings, **how)


@pytest.mark.parametrize("z_turned", [[0, 60], [0, 50, 100]])
def test_a_bar_reversed_at_other_positions_is_refused(z_turned):
    with pytest.raises(ValueError, match="other positions"):
        check_bar(*GOOD, [0, 1], [0, 1], z_turned_mm=z_turned)


profile = st.lists(st.floats(-100, 100), min_size=5, max_size=5).map(np.array)


@given(profile, profile, profile, profile)
@settings(max_examples=60, deadline=None)
def test_machine_and_bar_come_back_from_their_sum_and_difference(m_up, b_up, m_right, b_right):
    found = check_bar(Z, m_up + b_up, m_right + b_right, m_up - b_up, m_right - b_right)
    assert found.up.machine_um == pytest.approx(m_up - m_up[0], abs=1e-9)
    assert found.right.bar_um == pytest.approx(b_right, abs=1e-9)
