"""Warnings on a sweep: when they come, when they keep quiet, and what they say to do."""

import numpy as np
import pytest

from alignment.geometry.measure.hygiene import studentised_residuals, sweep_warnings
from alignment.geometry.measure.sweep import fit_sweep, predicted_readings

FOUR = [0, 90, 180, 270]
EIGHT = list(range(0, 360, 45))


def _codes(fit, **known):
    return [warning.code for warning in sweep_warnings(fit, **known)]


def _eight(right=30.0, up=10.0, scatter=0.3, seed=4):
    noise = np.random.default_rng(seed).normal(0, scatter, 8)
    return predicted_readings(right, up, EIGHT) + noise


def test_a_clean_sweep_gives_no_warning():
    fit = fit_sweep(EIGHT, _eight())
    assert sweep_warnings(fit, tolerance_um=10, sag_um=2, expected_um=(30, 10)) == ()


def test_a_sweep_that_does_not_close_is_told_to_go_back_to_the_zero():
    fit = fit_sweep(FOUR, [0, 30, -20, 30])
    warning = next(w for w in sweep_warnings(fit) if w.code == "does not close")
    assert warning.amount_um == pytest.approx(-80)
    assert "80.0 µm" in warning.sentence
    assert "zero" in warning.what_to_do


@pytest.mark.parametrize(("top", "warned"), [(3.9, False), (4.1, True)])
def test_closing_is_judged_by_twice_the_uncertainty_of_four_readings(top, warned):
    fit = fit_sweep(FOUR, [top, 0, 0, 0], reading_u_um=1.0)
    assert ("does not close" in _codes(fit, reading_u_um=1.0)) is warned


@pytest.mark.parametrize(("slack", "warned"), [(10, False), (12, True)])
def test_without_a_statement_a_sweep_should_close_to_a_quarter_of_its_tir(slack, warned):
    fit = fit_sweep(FOUR, [0, -20, slack, 20])
    assert ("does not close" in _codes(fit)) is warned


def test_closing_is_not_judged_without_the_four_points():
    fit = fit_sweep([10, 100, 190, 280], [0, 30, -20, 30])
    assert "does not close" not in _codes(fit)


def test_the_one_reading_that_disagrees_is_named():
    readings = _eight()
    readings[3] += 12
    warning = sweep_warnings(fit_sweep(EIGHT, readings))[0]
    assert (warning.code, warning.angle_deg) == ("one reading disagrees", 135)
    assert "at 135°" in warning.sentence
    assert "above" in warning.sentence
    assert warning.amount_um == pytest.approx(12, abs=1.5)


def test_a_reading_with_its_sign_forgotten_is_named():
    readings = _eight()
    readings[6] *= -1
    warning = sweep_warnings(fit_sweep(EIGHT, readings))[0]
    assert warning.angle_deg == 270
    assert "below" in warning.sentence


def test_a_reading_within_the_stated_uncertainty_is_not_odd():
    readings = predicted_readings(30, 10, EIGHT)
    readings[3] += 1.5
    fit = fit_sweep(EIGHT, readings)
    assert "one reading disagrees" in _codes(fit)
    assert "one reading disagrees" not in _codes(fit, reading_u_um=1.0)


def test_four_readings_cannot_tell_which_one_is_odd():
    assert studentised_residuals(fit_sweep(FOUR, [0, -10, 9, 10])) is None


def test_ordinary_scatter_rarely_calls_a_reading_odd():
    # At most five sweeps in a hundred, by the level that is shared out among the readings.
    rng = np.random.default_rng(8)
    sweeps = (fit_sweep(EIGHT, rng.normal(0, 1, 8)) for _ in range(300))
    assert sum("one reading disagrees" in _codes(fit) for fit in sweeps) <= 27


def test_studentised_residuals_leave_each_reading_out_in_turn():
    angles, readings = np.array([0, 40, 95, 170, 220, 300]), np.array([1.0, -4, -9, 3, 8, 11])
    fit = fit_sweep(angles, readings)
    for i in range(6):
        rest = np.arange(6) != i
        others = fit_sweep(angles[rest], readings[rest])
        here = others.mean_um + predicted_readings(
            others.right_um, others.up_um, [angles[i]], "bore", None
        )
        theta = np.radians(angles)
        design = np.column_stack([np.ones(6), np.sin(theta), np.cos(theta)])
        reach = design[i] @ np.linalg.inv(design[rest].T @ design[rest]) @ design[i]
        expected = (readings[i] - here[0]) / (others.u_reading_um * np.sqrt(1 + reach))
        assert studentised_residuals(fit)[i] == pytest.approx(expected)


def test_a_form_larger_than_the_offset_says_to_look_for_dirt_first():
    fit = fit_sweep(EIGHT, 5 * np.cos(2 * np.radians(EIGHT)))
    warning = next(w for w in sweep_warnings(fit) if w.code == "form beyond offset")
    assert warning.amount_um == pytest.approx(10)
    assert "dirt" in warning.what_to_do


def test_a_form_within_the_noise_of_reading_is_no_matter():
    fit = fit_sweep(EIGHT, 0.5 * np.cos(2 * np.radians(EIGHT)), reading_u_um=1.0)
    assert "form beyond offset" not in _codes(fit, reading_u_um=1.0)


@pytest.mark.parametrize(("sag", "warned"), [(-10, False), (-10.1, True), (12, True)])
def test_a_sag_beyond_the_tolerance_asks_for_a_stiffer_holder(sag, warned):
    fit = fit_sweep(EIGHT, _eight(), sag_um=sag)
    assert ("sag beyond tolerance" in _codes(fit, tolerance_um=10, sag_um=sag)) is warned


@pytest.mark.parametrize(
    ("expected", "code"),
    [
        ((-30, -10), "signs reversed"),
        ((-30, 10), "right and left swapped"),
        ((30, -10), "top and bottom swapped"),
    ],
)
def test_a_mirror_image_of_what_was_expected_is_recognised(expected, code):
    fit = fit_sweep(EIGHT, _eight())
    assert _codes(fit, expected_um=expected) == [code]


def test_a_bore_entered_for_a_bar_is_said_so():
    fit = fit_sweep(EIGHT, _eight(), surface="boss")
    warning = sweep_warnings(fit, expected_um=(30, 10))[0]
    assert warning.code == "signs reversed"
    assert "readings of a bore had been entered for a boss" in warning.sentence


@pytest.mark.parametrize("expected", [(0, 0), (28, 11), (60, -40), (30.5, 10)])
def test_an_offset_that_is_no_mirror_image_is_left_alone(expected):
    assert _codes(fit_sweep(EIGHT, _eight()), expected_um=expected) == []


def test_a_mirror_image_within_the_uncertainty_is_no_matter():
    fit = fit_sweep(EIGHT, predicted_readings(2, 0, EIGHT), reading_u_um=3.0)
    assert _codes(fit, expected_um=(-2, 0), reading_u_um=3.0) == []


def test_lengths_are_shown_in_the_readers_unit():
    fit = fit_sweep(FOUR, [0, 30, -20, 30])
    warning = sweep_warnings(fit, show=lambda um: f"{um / 25400:.4f} in")[0]
    assert "0.0031 in" in warning.sentence


@pytest.mark.parametrize(
    ("known", "reason"),
    [
        ({"tolerance_um": 0}, "tolerance"),
        ({"tolerance_um": -5}, "tolerance"),
        ({"sag_um": float("nan")}, "sag"),
        ({"expected_um": (1, float("inf"))}, "expected offset"),
    ],
)
def test_warnings_are_not_given_on_nonsense(known, reason):
    with pytest.raises(ValueError, match=reason):
        sweep_warnings(fit_sweep(EIGHT, _eight()), **known)
