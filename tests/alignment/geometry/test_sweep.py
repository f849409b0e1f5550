"""One indicator sweep: offset, clock position, closure, form and uncertainty."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.measure.sweep import fit_sweep, fit_sweeps, predicted_readings
from alignment.geometry.vectors import clock_position, region_factor

FOUR = [0, 90, 180, 270]
EIGHT = [0, 45, 90, 135, 180, 225, 270, 315]
UNEVEN = [10, 75, 140, 200, 290]


def test_a_bore_offset_to_the_right_reads_low_on_the_right():
    fit = fit_sweep(FOUR, [0, -10, 0, 10], surface="bore")
    assert (fit.right_um, fit.up_um) == pytest.approx((10, 0))


def test_a_bar_offset_to_the_right_reads_high_on_the_right():
    fit = fit_sweep(FOUR, [0, 10, 0, -10], surface="boss")
    assert (fit.right_um, fit.up_um) == pytest.approx((10, 0))


def test_a_high_bore_reads_low_at_the_top():
    fit = fit_sweep(FOUR, [-7, 0, 7, 0])
    assert (fit.right_um, fit.up_um) == pytest.approx((0, 7))


@pytest.mark.parametrize(
    ("right", "up", "clock"),
    [(0, 5, 0), (5, 5, 45), (5, 0, 90), (0, -5, 180), (-5, 0, 270), (0, 0, 0), (-1e-20, 1, 0)],
)
def test_the_clock_position_runs_clockwise_from_the_top(right, up, clock):
    assert clock_position(right, up) == pytest.approx(clock)


def test_an_even_shift_of_all_readings_moves_only_the_mean():
    fit = fit_sweep(FOUR, [5, 5, 5, 5])
    assert (fit.mean_um, fit.offset_um, fit.tir_um, fit.form_um) == pytest.approx((5, 0, 0, 0))


def test_readings_from_records_may_be_decimals():
    fit = fit_sweep(FOUR, [Decimal("12.7"), Decimal(0), Decimal("-12.7"), Decimal(0)])
    assert fit.up_um == pytest.approx(-12.7)


def test_an_oval_bore_leaves_its_form_and_no_offset():
    fit = fit_sweep(EIGHT, 3 * np.cos(np.radians(2 * np.array(EIGHT))))
    assert (fit.offset_um, fit.form_um) == pytest.approx((0, 6))


def test_closure_is_told_only_for_the_four_points():
    assert fit_sweep(EIGHT, [0, 1, 3, 1, 0, 1, 1, 1]).closure_um == pytest.approx(-4)
    assert fit_sweep(UNEVEN, [0, 1, 2, 3, 4]).closure_um is None


def test_the_four_points_may_come_in_any_order_and_past_a_full_turn():
    fit = fit_sweep([270, 540, 450, 360], [10, 0, -10, 0])
    assert (fit.right_um, fit.closure_um) == pytest.approx((10, 0))


@pytest.mark.parametrize("surface", ["bore", "boss"])
def test_what_the_sag_check_reads_is_no_offset(surface):
    sag = -8.0
    readings = sag / 2 * (1 - np.cos(np.radians(EIGHT)))
    fit = fit_sweep(EIGHT, readings, surface=surface, sag_um=sag)
    assert (fit.offset_um, fit.tir_um) == pytest.approx((0, 0))


def test_sag_left_in_looks_like_half_of_it_upwards_in_a_bore():
    readings = 8 / 2 * (1 - np.cos(np.radians(FOUR)))
    assert fit_sweep(FOUR, readings, surface="bore").up_um == pytest.approx(4)


def test_the_lever_angle_shortens_the_readings_after_the_sag_is_off():
    fit = fit_sweep(FOUR, [0, 0, 20, 0], sag_um=20, lever_deg=60)
    plain = fit_sweep(FOUR, [0, -10, 0, -10])
    assert fit.corrected_um == pytest.approx(plain.corrected_um / 2)


def test_stated_uncertainty_is_used_while_the_scatter_allows_it():
    fit = fit_sweep(FOUR, [0, -10, 0.5, 10], reading_u_um=1.0)
    assert fit.covariance_um2 == pytest.approx(np.eye(2) / 2)
    assert (fit.u_reading_um, fit.dof, fit.dof_u) == (1.0, 1, np.inf)


def test_the_lever_angle_shortens_the_stated_uncertainty_too():
    fit = fit_sweep(FOUR, [0, -10, 0, 10], reading_u_um=1.0, lever_deg=60)
    assert fit.u_reading_um == pytest.approx(0.5)


def test_a_scatter_beyond_the_statement_is_believed_instead():
    fit = fit_sweep(FOUR, [4, -10, 4, 10], reading_u_um=1.0)
    assert (fit.u_reading_um, fit.dof_u) == pytest.approx((4, 1))


def test_without_a_statement_the_residuals_speak():
    fit = fit_sweep(EIGHT, [1, -1, 1, -1, 1, -1, 1, -1])
    assert fit.u_reading_um == pytest.approx(np.sqrt(8 / 5))
    assert fit.u_offset_um == pytest.approx(np.sqrt(8 / 5) / 2)


def test_three_readings_and_no_statement_leave_the_uncertainty_infinite():
    fit = fit_sweep([0, 120, 240], [0, 3, -2])
    assert (fit.u_offset_um, fit.u_reading_um, fit.dof_u) == (np.inf, np.inf, 0)
    assert np.array_equal(fit.covariance_um2, [[np.inf, 0], [0, np.inf]])


def test_three_readings_with_a_statement_are_uncertain_by_the_statement():
    fit = fit_sweep([0, 120, 240], [0, 3, -2], reading_u_um=3.0)
    assert fit.covariance_um2 == pytest.approx(6 * np.eye(2))


def test_the_size_of_a_clear_offset_is_as_uncertain_as_its_own_direction():
    fit = fit_sweep([0, 180, 30], predicted_readings(0, 100, [0, 180, 30]), reading_u_um=1.0)
    assert fit.u_offset_um == pytest.approx(np.sqrt(fit.covariance_um2[1, 1]))


def test_the_size_of_an_offset_near_zero_takes_the_worst_direction():
    fit = fit_sweep([0, 180, 30], [0, 0, 0], reading_u_um=1.0)
    worst = np.sqrt(np.linalg.eigvalsh(fit.covariance_um2)[-1])
    assert fit.u_offset_um == pytest.approx(worst)
    assert worst > np.sqrt(fit.covariance_um2[1, 1])


def test_many_sweeps_at_once_say_what_each_says_alone():
    readings = np.array([[0, -9, 1, 11, 3], [4, 4, 4, 4, 5], [0, 2, 8, -1, 3.5]])
    sags = [1.0, 2.0, 3.0]
    fits = fit_sweeps(UNEVEN, readings, sag_um=sags, reading_u_um=0.5)
    for i, row in enumerate(readings):
        alone = fit_sweep(UNEVEN, row, sag_um=sags[i], reading_u_um=0.5)
        assert fits[i].surface == alone.surface
        for name, value in vars(alone).items():
            if name != "surface" and value is not None:
                assert getattr(fits[i], name) == pytest.approx(value), name
    assert len(fits) == 3


def test_predicted_readings_start_from_the_dials_zero():
    assert predicted_readings(10, 0, FOUR, "bore", 90) == pytest.approx([10, 0, 10, 20])


def test_predicted_readings_may_keep_the_mean_level():
    assert predicted_readings(0, 10, FOUR, "boss", None) == pytest.approx([10, 0, -10, 0])


def test_predicted_readings_come_for_many_offsets_at_once():
    rows = predicted_readings([10, 0], [0, 10], FOUR, "boss", None)
    assert rows == pytest.approx(np.array([[0, 10, 0, -10], [10, 0, -10, 0]]))


BAD_SWEEPS = [
    ([0, 90], [1, 2], {}, "at least three"),
    ([0, 90, 180], [1, 2], {}, "each angle needs its reading"),
    ([0, 90, 180, 360], [1, 2, 3, 4], {}, "0° is given twice"),
    ([0, 90, 450, 180], [1, 2, 3, 4], {}, "90° is given twice"),
    ([0, 1, 2], [1, 2, 3], {}, "too close together"),
    ([0, 90, float("nan")], [1, 2, 3], {}, "angles must be finite numbers; number 3"),
    ([0, 90, 180], [1, float("nan"), 3], {}, "readings must be finite numbers; number 2"),
    ([0, 90, 180], [1, float("inf"), 3], {}, "readings must be finite"),
    ([0, 90, 180], ["a", 2, 3], {}, "must be numbers"),
    ([0, 90, 180], [[1, 2, 3]], {}, "one row"),
    ([[0, 90, 180]], [1, 2, 3], {}, "one row"),
    ([0, 90, 180], [1, 2, 3], {"surface": "face"}, "a bore or a boss"),
    ([0, 90, 180], [1, 2, 3], {"lever_deg": 90}, "below 90°"),
    ([0, 90, 180], [1, 2, 3], {"lever_deg": -5}, "below 90°"),
    ([0, 90, 180], [1, 2, 3], {"sag_um": float("nan")}, "The sag must be a finite"),
    ([0, 90, 180], [1, 2, 3], {"reading_u_um": -1}, "cannot be negative"),
]


@pytest.mark.parametrize(("angles", "readings", "how", "reason"), BAD_SWEEPS)
def test_a_sweep_that_cannot_be_fitted_says_why(angles, readings, how, reason):
    with pytest.raises(ValueError, match=reason):
        fit_sweep(angles, readings, **how)


def test_many_sweeps_need_one_sag_or_one_each():
    with pytest.raises(ValueError, match="one for each of the 3"):
        fit_sweeps(FOUR, np.zeros((3, 4)), sag_um=[1, 2])


def test_a_prediction_from_nothing_is_refused():
    with pytest.raises(ValueError, match="finite"):
        predicted_readings(float("nan"), 0, FOUR)


def test_a_region_with_few_degrees_of_freedom_is_wider():
    one, five, stated = region_factor(np.array([1, 5, np.inf]))
    assert one > five > stated
    assert region_factor(0) == np.inf


lengths = st.floats(-500, 500).map(lambda value: round(value, 3))
surfaces = st.sampled_from(["bore", "boss"])


@st.composite
def layouts(draw):
    """Three to twelve angles at least 15° apart."""
    steps = draw(st.lists(st.integers(0, 23), min_size=3, max_size=12, unique=True))
    return np.array(steps) * 15.0


@given(layouts(), lengths, lengths, lengths, surfaces)
@settings(max_examples=80, deadline=None)
def test_noiseless_readings_give_the_offset_back_exactly(angles, right, up, level, surface):
    readings = level + predicted_readings(right, up, angles, surface, None)
    fit = fit_sweep(angles, readings, surface=surface)
    assert (fit.right_um, fit.up_um, fit.mean_um) == pytest.approx((right, up, level), abs=1e-8)


@st.composite
def swept(draw):
    angles = draw(layouts())
    readings = draw(st.lists(lengths, min_size=len(angles), max_size=len(angles)))
    return angles, np.array(readings), draw(surfaces)


def _with_statement(angles, readings, surface, u=20.0):
    return fit_sweep(angles, readings, surface=surface, reading_u_um=u)


@given(swept(), st.integers(0, 359))
@settings(max_examples=80, deadline=None)
def test_turning_the_view_turns_the_offset_and_its_covariance(sweep, turn):
    angles, readings, surface = sweep
    fit = _with_statement(angles, readings, surface)
    turned = _with_statement(angles + turn, readings, surface)
    sin, cos = np.sin(np.radians(turn)), np.cos(np.radians(turn))
    rotation = np.array([[cos, sin], [-sin, cos]])
    assert [turned.right_um, turned.up_um] == pytest.approx(
        rotation @ [fit.right_um, fit.up_um], rel=1e-7, abs=1e-7
    )
    assert turned.covariance_um2 == pytest.approx(
        rotation @ fit.covariance_um2 @ rotation.T, rel=1e-7, abs=1e-6
    )


@given(swept())
@settings(max_examples=80, deadline=None)
def test_looking_from_the_other_side_mirrors_right_and_keeps_up(sweep):
    angles, readings, surface = sweep
    fit = _with_statement(angles, readings, surface)
    mirrored = _with_statement(-angles, readings, surface)
    assert (mirrored.right_um, mirrored.up_um) == pytest.approx(
        (-fit.right_um, fit.up_um), rel=1e-7, abs=1e-7
    )


@given(swept())
@settings(max_examples=80, deadline=None)
def test_the_unit_of_the_readings_carries_through(sweep):
    angles, readings, surface = sweep
    in_um = _with_statement(angles, readings, surface)
    in_mm = _with_statement(angles, readings / 1000, surface, u=0.020)
    for name in ("right_um", "up_um", "tir_um", "form_um", "u_offset_um", "u_reading_um"):
        assert getattr(in_mm, name) * 1000 == pytest.approx(getattr(in_um, name), abs=1e-6)


@given(swept())
@settings(max_examples=80, deadline=None)
def test_a_bore_read_as_a_bar_points_the_other_way(sweep):
    angles, readings, _ = sweep
    bore, boss = (fit_sweep(angles, readings, surface=s) for s in ("bore", "boss"))
    assert (bore.right_um, bore.up_um) == pytest.approx((-boss.right_um, -boss.up_um), abs=1e-7)
