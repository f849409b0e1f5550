"""The axis through sweeps in several planes: position, tilt, bow and how surely."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.measure.axis import fit_axis
from alignment.geometry.measure.sweep import fit_sweep, fit_sweeps, predicted_readings
from alignment.geometry.vectors import region_factor, size_uncertainty

FOUR = [0, 90, 180, 270]
EIGHT = list(range(0, 360, 45))


def u_slope_um_per_100mm(axis):
    """Standard uncertainty of the tilt's size."""
    slope, covariance = axis.parameters[None, 2:], axis.covariance[None, 2:, 2:]
    return float(size_uncertainty(slope, covariance, np.array([axis.dof_u]))[0])


def _sweep(right, up, *, angles=FOUR, u=1.0):
    return fit_sweep(angles, predicted_readings(right, up, angles), reading_u_um=u)


def test_a_bore_leaning_to_the_right_stands_further_right_at_the_far_plane():
    axis = fit_axis([0, 50], [_sweep(10, 4), _sweep(30, 4)])
    assert axis.slope_right_um_per_100mm == pytest.approx(40)
    assert axis.slope_up_um_per_100mm == pytest.approx(0)


def test_the_axis_is_known_at_any_plane():
    axis = fit_axis([0, 50], [_sweep(10, 4), _sweep(30, 4)])
    point = axis.at(200)
    assert (point.right_um, point.up_um) == pytest.approx((90, 4))


def test_planes_may_come_in_any_order():
    axis = fit_axis([50, 0], [_sweep(30, 4), _sweep(10, 4)])
    assert axis.slope_right_um_per_100mm == pytest.approx(40)


def test_two_planes_leave_no_bow_to_see():
    axis = fit_axis([0, 50], [_sweep(10, 4), _sweep(30, 4)])
    assert (axis.bow_um, axis.dof) == (None, 0)
    assert axis.residuals_um == pytest.approx(np.zeros((2, 2)))


def test_a_bent_bar_shows_its_bow():
    axis = fit_axis([0, 50, 100], [_sweep(0, 0), _sweep(0, 3), _sweep(0, 0)])
    assert axis.bow_um == pytest.approx(2)
    assert axis.at(50).up_um == pytest.approx(1)


def test_a_bow_beyond_the_uncertainty_widens_it():
    straight = fit_axis([0, 50, 100], [_sweep(0, 0)] * 3)
    bent = fit_axis([0, 50, 100], [_sweep(0, 0), _sweep(0, 30), _sweep(0, 0)])
    assert u_slope_um_per_100mm(bent) > 5 * u_slope_um_per_100mm(straight)
    assert (straight.dof_u, bent.dof_u) == (np.inf, 2)


def test_the_uncertainty_is_least_between_the_planes_and_grows_beyond():
    axis = fit_axis([0, 100], [_sweep(0, 0), _sweep(0, 0)])
    between, at, beyond = (axis.at(z).u_offset_um for z in (50, 100, 300))
    assert between == pytest.approx(0.5)
    assert at == pytest.approx(np.sqrt(0.5))
    assert beyond == pytest.approx(np.sqrt(0.25 + 2.5**2))


def test_a_tilt_from_two_planes_is_as_unsure_as_their_difference():
    axis = fit_axis([0, 50], [_sweep(0, 0), _sweep(0, 0)])
    assert u_slope_um_per_100mm(axis) == pytest.approx(2.0)


def test_a_surer_plane_counts_for_more():
    sweeps = [_sweep(0, 0), _sweep(0, 9, u=9.0), _sweep(0, 0)]
    assert fit_axis([0, 50, 100], sweeps).at(50).up_um < 0.2


@pytest.mark.parametrize(
    ("z_mm", "count", "reason"),
    [
        ([0], 1, "at least two planes"),
        ([], 0, "at least two planes"),
        ([0, 0], 2, "same plane, z = 0 mm"),
        ([0, 30, 30], 3, "same plane, z = 30 mm"),
        ([0, 50, 100], 2, "3 planes but 2 sweeps"),
        ([0, float("nan")], 2, "finite"),
    ],
)
def test_planes_that_carry_no_axis_are_refused(z_mm, count, reason):
    with pytest.raises(ValueError, match=reason):
        fit_axis(z_mm, [_sweep(0, 0)] * count)


def test_a_plane_at_infinity_is_refused():
    with pytest.raises(ValueError, match="finite"):
        fit_axis([0, 50], [_sweep(0, 0)] * 2).at(np.inf)


small = st.floats(-300, 300).map(lambda value: round(value, 2))
planes = st.lists(st.integers(-20, 60), min_size=2, max_size=5, unique=True)


@given(planes, small, small, small, small)
@settings(max_examples=60, deadline=None)
def test_a_noiseless_axis_comes_back_exactly(z, right, up, slope_right, slope_up):
    z = np.array(z) * 10.0
    sweeps = [_sweep(right + slope_right * d / 100, up + slope_up * d / 100) for d in z]
    axis = fit_axis(z, sweeps)
    zero = axis.at(0)
    found = (zero.right_um, zero.up_um, *axis.parameters[2:])
    assert found == pytest.approx((right, up, slope_right, slope_up), abs=1e-6)


@given(planes, st.integers(0, 359), st.integers(0, 10**6))
@settings(max_examples=60, deadline=None)
def test_turning_the_view_turns_the_axis(z, turn, seed):
    readings = np.random.default_rng(seed).normal(0, 20, (len(z), 8))
    plain, turned = (
        fit_axis(z, [fit_sweep(np.array(EIGHT) + by, r, reading_u_um=20.0) for r in readings])
        for by in (0, turn)
    )
    sin, cos = np.sin(np.radians(turn)), np.cos(np.radians(turn))
    rotation = np.kron(np.eye(2), [[cos, sin], [-sin, cos]])
    assert turned.parameters == pytest.approx(rotation @ plain.parameters, abs=1e-6)
    scale = np.abs(plain.covariance).max()
    assert turned.covariance / scale == pytest.approx(
        rotation @ plain.covariance @ rotation.T / scale, abs=1e-6
    )


def test_the_stated_region_covers_the_true_tilt_95_times_in_100():
    # 10,000 pairs of planes: the slope is the difference of two independent sweeps' centres.
    count, truth = 10_000, np.array([[4.0, 1.0], [8.0, -5.0]])
    noise = np.random.default_rng(11).normal(0, 1.5, (2, count, 8))
    near, far = (
        fit_sweeps(EIGHT, predicted_readings(*t, EIGHT) + n, reading_u_um=1.5)
        for t, n in zip(truth, noise, strict=True)
    )
    axis = fit_axis([0, 50], [near[0], far[0]])
    slopes = 2 * np.column_stack([far.right_um - near.right_um, far.up_um - near.up_um])
    misses = slopes - 2 * (truth[1] - truth[0])
    distance = np.einsum("mi,ij,mj->m", misses, np.linalg.inv(axis.covariance[2:, 2:]), misses)
    assert slopes[0] == pytest.approx(axis.parameters[2:])
    assert 0.94 <= np.mean(distance <= region_factor(axis.dof_u)) <= 0.96


def test_planes_of_unknown_uncertainty_leave_the_axis_unproved():
    three = [0, 120, 240]
    axis = fit_axis([0, 50], [_sweep(0, 0, angles=three, u=0.0), _sweep(30, 0)])
    assert axis.slope_right_um_per_100mm == pytest.approx(60)
    assert u_slope_um_per_100mm(axis) == np.inf
    assert axis.at(0).u_offset_um == np.inf


def test_planes_without_any_scatter_still_give_the_axis():
    flat = fit_sweep(EIGHT, np.zeros(8))
    axis = fit_axis([0, 50], [flat, flat])
    assert (np.hypot(*axis.parameters[2:]), u_slope_um_per_100mm(axis)) == (0, 0)
