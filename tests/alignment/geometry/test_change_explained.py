"""Was the last as found more than wear explains, and how that is said."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.drift.change import cusum, explain_change, surprises
from alignment.geometry.drift.fit import WalkPrior
from alignment.geometry.drift.intervals import make_intervals
from tests.alignment.geometry.fleets import borrow, fleet

YEARLY = [[3.1, 0.2], [2.8, -0.3], [3.2, 0.1], [2.9, 0.0]]


def explained(last, *, earlier=YEARLY, elapsed=1.0, incident=False, **more):
    change = np.array([[*earlier, last]], float)
    time = np.array([[1.0] * len(earlier) + [elapsed]])
    knocked = np.zeros(time.shape, bool)
    knocked[0, -1] = incident
    return explain_change(make_intervals(time, change, 0.05, 0.05, knocked), **more)


def test_a_bump_nobody_logged_is_looked_for():
    said = explained([14.0, 0.0]).sentence(0, "12 March")
    assert said == "moved 14 µm since 12 March, wear explains 3: look for an unlogged bump"


def test_a_logged_incident_is_the_likely_reason():
    said = explained([14.0, 0.0], incident=True).sentence(0, "12 March")
    assert said.endswith("wear explains 3: the logged incident is the likely reason")


def test_mere_wear_is_called_wear():
    said = explained([3.2, 0.1]).sentence(0, "12 March")
    assert said == (
        "moved 3.2 µm since 12 March, wear explains 3.0: no more than wear and wandering can do"
    )


def test_an_incident_that_moved_nothing_left_no_mark():
    assert "left no mark" in explained([3.0, 0.1], incident=True).sentence(0, "12 March")


def test_movement_against_the_wear_is_not_explained_by_it():
    assert "wear explains none of it" in explained([-12.0, 0.0]).sentence(0, "12 March")


def test_less_movement_than_wear_expects_is_all_explained():
    assert "wear explains all of it" in explained([2.8, 0.0]).sentence(0, "12 March")


def test_movement_sideways_counts_as_much_as_along_the_wear():
    assert explained([3.0, 11.0]).unusual[0]


def test_a_change_without_time_between_is_no_wear():
    assert "wear explains none of it" in explained([9.0, 0.0], elapsed=0.0).sentence(0, "today")


def test_the_figures_may_be_shown_in_inches():
    said = explained([14.0, 0.0]).sentence(
        0, "12 March", unit="in", show=lambda um: f"{um / 25400:.4f}"
    )
    assert said.startswith("moved 0.0006 in since 12 March, wear explains 0.0001:")


@pytest.mark.parametrize("earlier", [[], YEARLY[:1]], ids=["no visits before", "one before"])
def test_with_too_few_visits_wear_is_not_guessed(earlier):
    said = explained([14.0, 0.0], earlier=earlier).sentence(0, "12 March")
    assert said == "moved 14 µm since 12 March; too few visits to say what wear explains"


def test_with_nothing_measured_there_is_nothing_to_compare():
    change = explain_change(make_intervals([[np.nan]], [[[np.nan, np.nan]]]))
    assert change.sentence(0, "12 March") == "no as left and as found to compare yet"


def test_what_is_known_of_the_walk_serves_where_visits_are_few():
    change = explained([14.0, 0.0], earlier=YEARLY[:1], walk=WalkPrior(0.1))
    assert change.unusual[0]


def test_machines_of_the_model_tell_what_wear_explains_at_a_second_visit():
    machines = fleet(6, machines=12)
    keep = np.ones((12, 5), bool)
    keep[0] = False
    belief = borrow(machines.intervals.select(keep), np.zeros(12, int)).belief
    last = np.zeros((12, 5), bool)
    last[:, 4] = True
    machines.intervals.change_um[0, 4] += 100
    assert explain_change(machines.intervals.select(last), belief=belief).unusual[0]


@pytest.mark.parametrize("share", [0.0, 0.5], ids=["always adjusted", "adjusted half the time"])
def test_mere_wear_is_called_unusual_about_once_in_a_hundred(share):
    alarms = explain_change(fleet(8, share=share).intervals).unusual.mean()
    assert 0.006 <= alarms <= 0.014


def test_a_knock_of_twenty_micrometres_is_nearly_always_noticed():
    machines = fleet(8)
    machines.intervals.change_um[:, -1, 0] += 20
    assert explain_change(machines.intervals).unusual.mean() > 0.99


def test_surprises_of_a_machine_that_only_wears_are_standard_normal():
    scores = surprises(fleet(8, machines=2000).intervals)[:, 3:]
    assert (np.mean(scores), np.std(scores)) == pytest.approx((0, 1), abs=0.05)


def test_an_incident_does_not_enter_the_chart():
    scores = surprises(fleet(8, machines=3, incident=5).intervals)
    assert np.isnan(scores[:, 5]).all()
    assert np.isfinite(scores[:, 6]).all()


def test_the_chart_notices_a_drift_that_has_grown_since():
    """Twice 1.5 deviations and more are no alarm singly; together they are."""
    machines = fleet(12, machines=500, walk_ratio=0.2)
    machines.intervals.change_um[:, 7:, 0] += 6 * machines.intervals.elapsed[:, 7:]
    chart = cusum(surprises(machines.intervals)[..., 0], 0.0)
    assert chart.alarm[:, -1].mean() > 0.8


def test_a_value_not_measured_leaves_the_chart_where_it_stood():
    values = [1.0, np.nan, 1.0]
    assert cusum(values, 0.0).high.tolist() == [0.5, 0.5, 1.0]


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(-50, 50), min_size=1, max_size=30))
def test_a_cusum_turned_upside_down_swaps_its_sums(values):
    up, down = cusum(values, 0.0), cusum([-v for v in values], 0.0)
    np.testing.assert_array_equal(up.high, down.low)


@pytest.mark.parametrize(
    ("chart", "said"),
    [
        (lambda: cusum([1.0], 0, slack=0), "slack and the decision limit"),
    ],
)
def test_a_chart_that_cannot_be_meant_is_refused(chart, said):
    with pytest.raises(ValueError, match=said):
        chart()
