"""Poor records: each gives a plain sentence, none an error or a certainty that is not there."""

import warnings

import numpy as np
import pytest

from alignment.geometry.drift.fit import WalkPrior, fit_drift
from alignment.geometry.drift.intervals import Visit, intervals_from_visits, make_intervals


def visit(time, found=None, left=None, **more):
    return Visit(time, found, left, found_cov_um2=1.0, left_cov_um2=1.0, **more)


STEADY = [
    visit(0, None, (0, 0)),
    visit(1, (3, 1), (0, 0)),
    visit(2, (2, 2), (1, 0)),
    visit(3, (5, 1), (0, 0)),
]


def fit(visits):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return fit_drift(intervals_from_visits([visits]))


def changed(place, **more):
    visits = list(STEADY)
    visits[place] = Visit(**{**vars(visits[place]), **more})
    return visits


def test_a_sound_record_needs_no_remark():
    assert fit(STEADY).note(0) == ""


def test_each_as_left_starts_a_new_baseline():
    intervals = intervals_from_visits([STEADY])
    np.testing.assert_array_equal(intervals.change_um[0], [[3, 1], [2, 2], [4, 1]])


CASES = [
    ("one visit only", STEADY[:1], "it takes two visits"),
    ("no visit at all", [], "it takes two visits"),
    ("two visits on one day", changed(1, time=0), "No time passed between visit 1 and visit 2"),
    ("as found missing", changed(2, found_um=None), "Visit 3 has no as found"),
    ("as left missing", changed(1, left_um=None), "Visit 2 has no as left"),
    ("clock going backwards", changed(2, time=0.5), "Time runs backwards from visit 2 to visit 3"),
    ("only two visits", STEADY[:2], "no interval is given"),
    ("incident in every interval", changed(1, incident=True)[:2], "cannot be told apart"),
]


@pytest.mark.parametrize(("visits", "said"), [c[1:] for c in CASES], ids=[c[0] for c in CASES])
def test_a_poor_record_is_explained_in_a_sentence(visits, said):
    assert said in fit(visits).note(0)


@pytest.mark.parametrize("visits", [STEADY[:1], [], STEADY[:2]], ids=["one", "none", "two"])
def test_with_too_few_visits_no_interval_is_given(visits):
    assert np.isnan(fit(visits).rate_low_um).all()


def test_with_two_visits_the_rate_itself_is_still_given():
    np.testing.assert_allclose(fit(STEADY[:2]).rate_um[0], [3, 1])


def test_an_interval_lost_to_a_missing_reading_leaves_the_others_standing():
    assert fit(changed(2, found_um=None)).used[0] == 2


def test_a_day_without_time_says_nothing_of_the_rate():
    assert fit(changed(1, time=0)).used[0] == 2


def test_a_knock_between_two_visits_on_one_day_still_has_its_step():
    visits = changed(1, time=0, incident=True, found_um=(30, 0))
    np.testing.assert_allclose(fit(visits).step_um[0, 0], [30, 0])


def test_where_nothing_was_adjusted_the_as_found_serves_as_as_left():
    intervals = intervals_from_visits([changed(1, left_um=None, adjusted=False)])
    np.testing.assert_array_equal(intervals.change_um[0, 1], [-1, 1])


def test_where_nothing_was_adjusted_neighbours_share_the_measurement():
    intervals = intervals_from_visits([changed(1, adjusted=False)])
    assert intervals.shares_start[0].tolist() == [False, True, False]


def test_a_changed_tolerance_is_remarked_on_and_leaves_the_drift_alone():
    visits = [
        Visit(**{**vars(v), "tolerance_um": t}) for v, t in zip(STEADY, (10, 10, 8, 8), strict=True)
    ]
    said = fit(visits).note(0)
    assert "changed from 10 to 8 µm at visit 3" in said


def test_a_renamed_item_is_taken_as_one_item_and_said_so():
    visits = [Visit(**{**vars(v), "name": n}) for v, n in zip(STEADY, "AAAB", strict=True)]
    assert "calls it “B” since visit 4" in fit(visits).note(0)


def test_identical_values_are_not_taken_for_a_steady_machine():
    same = [visit(t, (0, 0), (0, 0)) for t in range(5)]
    assert "agree better than their stated uncertainty allows" in fit(same).note(0)


def test_identical_values_leave_the_rate_as_uncertain_as_the_indicator():
    """Four yearly intervals of two measurements each, k = 1.96."""
    same = [visit(t, (0, 0), (0, 0)) for t in range(5)]
    assert fit(same).rate_high_um[0, 0] == pytest.approx(1.96 * np.sqrt(2 / 4), rel=1e-3)


def test_identical_values_without_a_stated_uncertainty_prove_nothing():
    same = [Visit(t, 4.0, 4.0) for t in range(5)]
    result = fit(same)
    assert np.isnan(result.rate_low_um).all()
    assert "no proof of a steady machine" in result.note(0)


def test_without_a_stated_uncertainty_scatter_counts_as_wandering():
    visits = [Visit(t, f, 0.0) for t, f in enumerate((0.0, 3.0, 5.0, 2.0))]
    result = fit(visits)
    assert "all scatter counts as wandering" in result.note(0)
    assert result.walk_um2[0] == pytest.approx(np.var([3, 5, 2], ddof=1), rel=1e-6)


def test_two_visits_that_agree_by_luck_do_not_beat_the_indicator():
    """The interval is never narrower than one standard deviation of the measurement alone."""
    result = fit_drift(make_intervals(np.ones((1, 2)), [[3.0, 3.1]], 1.0, 1.0))
    assert (result.rate_high_um - result.rate_low_um)[0, 0] >= 2 * np.sqrt(2 / 2) * 0.99


def test_an_empty_batch_gives_an_empty_answer():
    assert fit_drift(intervals_from_visits([])).rate_um.shape == (0, 1)


@pytest.mark.parametrize(
    ("build", "said"),
    [
        (lambda: make_intervals([1.0], [1.0]), "one row a series"),
        (lambda: make_intervals([[1.0]], [[[1, 2, 3]]]), "right, up"),
        (lambda: make_intervals([[1.0]], [[1.0]], -1.0), "not negative"),
        (lambda: make_intervals([[1.0]], [[1.0]], np.nan), "must be a number"),
        (
            lambda: intervals_from_visits([[Visit(0, None, 1.0), Visit(1, (1, 2), None)]]),
            "expected alike",
        ),
        (lambda: fit_drift(make_intervals([[1.0]], [[1.0]]), WalkPrior(-1.0)), "not negative"),
    ],
)
def test_input_that_cannot_be_meant_is_refused_with_what_was_expected(build, said):
    with pytest.raises(ValueError, match=said):
        build()
