"""One figure from several sweeps, and where its uncertainty comes from."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.measure.axis import fit_axis
from alignment.geometry.measure.bar import check_bar
from alignment.geometry.measure.conditions import Conditions
from alignment.geometry.measure.face import flat_height
from alignment.geometry.measure.outcome import face_outcome, sweep_outcome
from alignment.geometry.measure.sweep import fit_sweep, predicted_readings
from alignment.geometry.measure.travel import bar_outcome, flat_outcome

FOUR = (0, 90, 180, 270)
EIGHT = tuple(range(0, 360, 45))
CERTIFICATE = Conditions(error_um=3.0, resolution_um=1.0)
microns = st.floats(-200, 200)


def swept(right, up, angles=FOUR, noise=0.0, u=0.5, seed=0):
    rng = np.random.default_rng(seed)
    readings = predicted_readings(right, up, angles) + noise * rng.standard_normal(len(angles))
    return fit_sweep(angles, readings, reading_u_um=u)


def shares(outcome):
    return {part.name: part.contribution for part in outcome.budget.components}


@given(microns, microns, microns, microns)
@settings(max_examples=20, deadline=None)
def test_the_tilt_of_two_planes_is_their_difference_over_the_way_between(r1, u1, r2, u2):
    planes = [[swept(r1, u1)], [swept(r2, u2)]]
    outcome = sweep_outcome(planes, "tilt right", CERTIFICATE, z_mm=[10, 60], per_mm=300)
    assert outcome.value_um == pytest.approx((r2 - r1) * 300 / 50, abs=1e-6)
    assert outcome.up_um == pytest.approx((u2 - u1) * 300 / 50, abs=1e-6)


def test_an_offset_is_asked_for_at_any_plane():
    """On a line from 2 µm at z 0 to 6 µm at z 40 stands 12 µm at z 100."""
    planes = [[swept(2, 0)], [swept(6, 0)]]
    outcome = sweep_outcome(planes, "right", CERTIFICATE, z_mm=[0, 40], at_mm=100)
    assert outcome.value_um == pytest.approx(12)


def test_four_planes_agree_with_the_axis_fitted_to_them():
    z = [0, 20, 50, 90]
    planes = [[swept(r, r / 2)] for r in (1.0, 2.2, 2.9, 6.0)]
    axis = fit_axis(z, [plane[0] for plane in planes])
    outcome = sweep_outcome(planes, "tilt", CERTIFICATE, z_mm=z)
    assert outcome.value_um == pytest.approx(np.hypot(*axis.parameters[2:]))


def test_planes_off_one_line_have_a_row_in_the_budget():
    planes = [[swept(r, 0)] for r in (0, 5, 0)]
    outcome = sweep_outcome(planes, "tilt right", CERTIFICATE, z_mm=[0, 50, 100])
    assert "planes off one line" in shares(outcome)


def test_repeats_shrink_what_is_random_and_not_the_indicator_s_own_error():
    once = shares(sweep_outcome([[swept(9, 0)]], "offset", CERTIFICATE))
    four = shares(sweep_outcome([[swept(9, 0)] * 4], "offset", CERTIFICATE))
    assert four["resolution"] == pytest.approx(once["resolution"] / 2)
    assert four["indicator's stated error"] == pytest.approx(once["indicator's stated error"])


def test_more_readings_do_not_shrink_the_indicator_s_error_below_two_opposite_ones():
    """Half the difference of two readings, each within ± 3 µm: 3/√3·√(1/2)."""
    eight = shares(sweep_outcome([[swept(9, 0, EIGHT)]], "offset", CERTIFICATE))
    assert eight["indicator's stated error"] == pytest.approx(3 / math.sqrt(3) * math.sqrt(0.5))


def test_perfect_readings_without_any_statement_prove_nothing():
    outcome = sweep_outcome([[swept(1, 0, u=0)]], "offset", Conditions())
    assert outcome.budget.expanded == math.inf


def test_scatter_alone_expands_by_student_s_factor():
    """Four readings leave one degree of freedom: k = 13.97 for 95.45 % (JCGM 100, table G.2)."""
    outcome = sweep_outcome([[swept(9, 0, noise=1.0, u=0)]], "offset", Conditions())
    assert outcome.budget.k == pytest.approx(13.97, abs=0.005)


def test_sag_bears_on_height_and_not_on_sideways():
    sagging = Conditions(error_um=3, resolution_um=1, sag_u_um=2)
    up = shares(sweep_outcome([[swept(0, 9)]], "up", sagging))
    right = shares(sweep_outcome([[swept(9, 0)]], "right", sagging))
    assert up["sag check"] == pytest.approx(1.0)
    assert "sag check" not in right


def test_warmth_and_sag_drop_out_of_a_tilt():
    warm = Conditions(error_um=3, resolution_um=1, sag_u_um=2, temperature_k=5, length_mm=100)
    tilt = sweep_outcome([[swept(0, 1)], [swept(0, 2)]], "tilt up", warm, z_mm=[0, 50])
    assert {"sag check", "temperature"}.isdisjoint(shares(tilt))


def test_warmth_counts_by_expansion_and_length():
    """± 5 K rectangular over 300 mm of steel: 11.5e-6 · 300 000 µm · 5/√3 (steel as in GUM H.1)."""
    warm = Conditions(error_um=3, resolution_um=1, temperature_k=5, length_mm=300)
    row = shares(sweep_outcome([[swept(0, 9)]], "up", warm))["temperature"]
    assert row == pytest.approx(11.5e-6 * 300_000 * 5 / math.sqrt(3))


def test_a_run_out_is_the_difference_of_two_readings():
    """√2 of a reading's 3/√3 from the certificate."""
    row = shares(sweep_outcome([[swept(9, 0)]], "tir", CERTIFICATE))["indicator's stated error"]
    assert row == pytest.approx(math.sqrt(2) * 3 / math.sqrt(3))


def test_the_stated_uncertainty_of_a_tilt_covers_simulated_ones():
    """5,000 pairs of sweeps with known noise: u of the tilt is their standard deviation."""
    rng = np.random.default_rng(7)
    noise = rng.normal(0, 0.8, (5000, 2, 4))
    theta = np.radians(FOUR)
    rights = -noise @ np.sin(theta) / 2
    tilts = (rights[:, 1] - rights[:, 0]) * 100 / 80
    stated = Conditions(typed_u_um=0.8)
    planes = [[swept(0, 0, u=0.8)], [swept(0, 0, u=0.8)]]
    outcome = sweep_outcome(planes, "tilt right", stated, z_mm=[0, 80])
    assert outcome.budget.u == pytest.approx(tilts.std(), rel=0.05)


@pytest.mark.parametrize(
    ("planes", "quantity", "said"),
    [(1, "tilt", "two planes"), (2, "tir", "one plane"), (1, "roundness", "not a figure")],
)
def test_a_figure_that_sweeps_cannot_give_is_refused(planes, quantity, said):
    with pytest.raises(ValueError, match=said):
        sweep_outcome([[swept(1, 0)]] * planes, quantity, CERTIFICATE, z_mm=[0, 50][:planes])


def test_a_face_counts_by_its_radius():
    """3 µm nearer on 30 mm is 30 µm on 300 mm."""
    face = [fit_sweep(FOUR, [0, 3, 0, -3], surface="boss", reading_u_um=0.5)]
    outcome = face_outcome(face, "tilt right", CERTIFICATE, radius_mm=30, per_mm=300)
    assert outcome.value_um == pytest.approx(30)


class TestBar:
    def test_turned_it_is_the_machine_alone(self):
        bar = check_bar([0, 100], [0, 7], [0, 0], [0, 1], [0, 0])
        outcome = bar_outcome(bar, "tilt up", CERTIFICATE)
        assert outcome.value_um == pytest.approx(4)
        assert math.isfinite(outcome.budget.u)

    def test_not_turned_it_proves_nothing(self):
        bar = check_bar([0, 100], [0, 7], [0, 0])
        assert bar_outcome(bar, "tilt up", CERTIFICATE).budget.u == math.inf

    def test_its_scatter_is_that_of_one_reading_though_two_are_averaged(self):
        """Readings of σ 1 both ways round: the row's u comes back as about 1, not 1/√2."""
        rng = np.random.default_rng(3)
        z = np.arange(400.0)
        noise = rng.normal(0, 1, (2, 400))
        zero = np.zeros(400)
        bar = check_bar(z, noise[0], zero, noise[1], zero)
        budget = bar_outcome(bar, "tilt up", CERTIFICATE).budget
        (row,) = (part for part in budget.components if part.name == "scatter of the readings")
        assert row.u == pytest.approx(1, rel=0.1)

    def test_it_gives_no_offset(self):
        bar = check_bar([0, 100], [0, 7], [0, 0])
        with pytest.raises(ValueError, match="gives a tilt"):
            bar_outcome(bar, "offset", CERTIFICATE)


def test_a_flat_s_diameter_counts_by_half():
    flat = flat_height([2, 6], [11], 20_000)
    outcome = flat_outcome(flat, "up", CERTIFICATE, on_bar=2, on_flat=1, diameter_u_um=2)
    assert shares(outcome)["bar's diameter"] == pytest.approx(1)


def test_almost_certain_degrees_of_freedom_expand_as_certain_ones():
    """A scatter of nothing beside a certificate leaves countless degrees of freedom."""
    outcome = sweep_outcome([[swept(9, 0)]], "offset", CERTIFICATE)
    assert outcome.budget.k == pytest.approx(2.0, abs=1e-4)


class TestOfABar:
    """Run-out and straightness: sizes that are differences of readings."""

    Z = np.array([0.0, 100, 200])

    def turned(self, shake=0.0):
        """A travel that bows up by 6 µm in the middle, a bar off by (3, 4) µm near, (6, 8) far;
        shake: what is added to each reading."""
        up, right = np.array([4.0, 6, 8]), np.array([3.0, 4.5, 6])
        bow = np.array([0.0, 6, 0])
        clean = np.array([bow + up, right, bow - up, -right])
        return check_bar(self.Z, *(clean + shake), reading_u_um=CERTIFICATE.reading_u_um)

    @pytest.mark.parametrize(
        ("quantity", "value"),
        [("out near", 10), ("out far", 20), ("bow up", 6), ("bow right", 0)],
    )
    def test_by_hand(self, quantity, value):
        """Twice 5 and twice 10 (3, 4, 5 and 6, 8, 10); 6 µm from the line's lowest to highest."""
        outcome = bar_outcome(self.turned(), quantity, CERTIFICATE)
        assert outcome.value_um == pytest.approx(value)
        assert math.hypot(outcome.right_um, outcome.up_um) == pytest.approx(value)

    def test_the_stated_uncertainty_of_a_run_out_is_how_far_it_scatters(self):
        """Against 4,000 simulated readings of a bar that runs out far more than they scatter."""
        noise = np.random.default_rng(7).normal(0, 0.5, (4000, 4, 3))
        typed = Conditions(typed_u_um=0.5)
        found = [bar_outcome(self.turned(shake), "out far", typed).value_um for shake in noise]
        assert np.std(found) == pytest.approx(
            bar_outcome(self.turned(), "out far", typed).budget.u, rel=0.05
        )

    def test_the_stated_uncertainty_of_a_straightness_covers_its_scatter(self):
        noise = np.random.default_rng(8).normal(0, 0.5, (2000, 4, 3))
        typed = Conditions(typed_u_um=0.5)
        found = [bar_outcome(self.turned(shake), "bow up", typed).value_um for shake in noise]
        assert np.std(found) <= bar_outcome(self.turned(), "bow up", typed).budget.u

    def test_a_run_out_needs_a_bar_that_was_turned(self):
        bar = check_bar(self.Z, [0, 1, 2], [0, 0, 0])
        with pytest.raises(ValueError, match="turned by half a turn"):
            bar_outcome(bar, "out far", CERTIFICATE)

    def test_two_positions_are_always_straight(self):
        bar = check_bar([0, 100], [0, 1], [0, 0], [0, 1], [0, 0])
        with pytest.raises(ValueError, match="three or more"):
            bar_outcome(bar, "bow up", CERTIFICATE)

    def test_the_straightness_of_a_bar_never_turned_is_not_proven(self):
        bar = check_bar(self.Z, [0, 6, 0], [0, 0, 0])
        assert bar_outcome(bar, "bow up", CERTIFICATE).budget.u == math.inf
        stated = bar_outcome(bar, "bow up", CERTIFICATE, bar_error_um=1.0)
        assert math.isfinite(stated.budget.u)
