"""Belts tooth by tooth: counts, runs round the loop, and what grew since last time."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines.engineering.belts import CONDITIONS, summarise_teeth, teeth_from_to

belts = st.integers(10, 120).flatmap(
    lambda n: st.tuples(
        st.just(n),
        st.dictionaries(st.integers(1, n), st.sampled_from(CONDITIONS), max_size=n),
    )
)


def test_a_belt_nobody_marked_is_sound_all_round():
    summary = summarise_teeth(96, {})
    assert summary.counts == {"sound": 96, "marked": 0, "worn": 0, "cracked": 0, "missing": 0}
    assert (summary.damaged, summary.longest_run, summary.worst) == ((), 0, "sound")
    assert summary.sentence == "All 96 teeth are sound."


def test_two_marked_teeth_side_by_side_are_neighbours():
    summary = summarise_teeth(96, {41: "marked", 42: "marked", 60: "sound"})
    assert summary.counts["marked"] == 2
    assert summary.counts["sound"] == 94
    assert summary.neighbours == ((41, 42),)
    assert summary.sentence == "Of 96 teeth: 2 damaged, 2 of them next to each other."


def test_the_last_tooth_neighbours_the_first():
    summary = summarise_teeth(96, {96: "worn", 1: "cracked", 50: "marked", 95: "marked"})
    assert summary.runs == ((95, 96, 1), (50,))
    assert summary.longest_run == 3


def test_a_belt_damaged_all_round_is_one_run():
    summary = summarise_teeth(12, dict.fromkeys(range(1, 13), "worn"))
    assert summary.longest_run == 12
    assert summary.counts["sound"] == 0


def test_growth_since_last_time_tells_new_from_worse():
    summary = summarise_teeth(
        96,
        {10: "marked", 11: "worn", 12: "marked", 13: "sound"},
        previous={10: "marked", 11: "marked", 13: "worn"},
    )
    assert [(c.tooth, c.before, c.now) for c in summary.new] == [(12, "sound", "marked")]
    assert [(c.tooth, c.before, c.now) for c in summary.worsened] == [(11, "marked", "worn")]
    assert [c.tooth for c in summary.better] == [13]


def test_a_first_map_has_no_growth():
    assert summarise_teeth(96, {10: "worn"}).new == ()


def test_the_worst_tooth_names_the_belt():
    assert summarise_teeth(96, {1: "marked", 2: "missing", 3: "worn"}).worst == "missing"


@pytest.mark.parametrize(
    ("teeth_count", "conditions", "message"),
    [
        (96, {97: "worn"}, "no tooth 97 on a belt with teeth 1 to 96"),
        (96, {0: "worn"}, "no tooth 0"),
        (96, {"5": "worn"}, "no tooth 5"),
        (96, {5: "tired"}, "Tooth 5 is “tired”; expected one of sound, marked"),
        (0, {}, "number of belt teeth must be at least 10, not 0"),
        (96.5, {}, "whole number"),
    ],
)
def test_impossible_maps_are_refused_in_plain_words(teeth_count, conditions, message):
    with pytest.raises(ValueError, match=message):
        summarise_teeth(teeth_count, conditions)


def test_last_times_map_is_held_to_the_same_teeth():
    with pytest.raises(ValueError, match="no tooth 97"):
        summarise_teeth(96, {}, previous={97: "worn"})


@pytest.mark.parametrize(
    ("first", "last", "teeth"),
    [(3, 5, (3, 4, 5)), (7, 7, (7,)), (95, 2, (95, 96, 1, 2))],
)
def test_a_from_to_run_goes_over_the_joint_of_the_count(first, last, teeth):
    assert teeth_from_to(first, last, 96) == teeth


def test_a_from_to_run_stays_on_the_belt():
    with pytest.raises(ValueError, match="no tooth 97"):
        teeth_from_to(90, 97, 96)


@settings(max_examples=60)
@given(belts)
def test_counts_and_runs_account_for_every_tooth(belt):
    teeth_count, conditions = belt
    summary = summarise_teeth(teeth_count, conditions)
    assert sum(summary.counts.values()) == teeth_count
    assert sorted(tooth for run in summary.runs for tooth in run) == list(summary.damaged)


@settings(max_examples=60)
@given(belts, st.integers(0, 119))
def test_turning_the_belt_changes_no_count_and_no_longest_run(belt, turn):
    teeth_count, conditions = belt
    turned = {(tooth - 1 + turn) % teeth_count + 1: c for tooth, c in conditions.items()}
    before, after = summarise_teeth(teeth_count, conditions), summarise_teeth(teeth_count, turned)
    assert after.counts == before.counts
    assert [len(run) for run in after.runs] == [len(run) for run in before.runs]
