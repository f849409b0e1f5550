"""What is done next at a machine. The order is common practice, no source."""

from hypothesis import given
from hypothesis import strategies as st

from alignment.geometry.adjust.thread import (
    ADJUST,
    LOOK_AT_BELT,
    PLAN_MOVE,
    SWEEP_AS_FOUND,
    SWEEP_AS_LEFT,
    Line,
    Step,
    Stop,
    next_step,
    open_steps,
    step_at,
)

HEADSTOCK, HOUSING, SUB_SPINDLE = "headstock", "housing", "sub-spindle"


def stop(key, *, first=None, **state):
    return Stop(key, (Line(f"{key} bore", **state),), first)


def done(stops, belts=()):
    return [(step.what, step.stop or step.belt) for step in open_steps(stops, belts)]


def test_everything_is_swept_as_found_in_checking_order_before_anything_is_moved():
    stops = [
        stop(HEADSTOCK, counts=True),
        stop(HOUSING, counts=True, outside=True),
        stop(SUB_SPINDLE),
    ]
    assert done(stops) == [(SWEEP_AS_FOUND, SUB_SPINDLE), (PLAN_MOVE, HOUSING)]


def test_what_the_incident_says_goes_first_and_the_rest_in_checking_order():
    stops = [stop(HEADSTOCK), stop(HOUSING, first=2), stop(SUB_SPINDLE, first=1)]
    order = [place for _what, place in done(stops)]
    assert order == [SUB_SPINDLE, HOUSING, HEADSTOCK]


def test_a_belt_is_looked_at_after_the_sweeps_as_found_and_before_a_move():
    stops = [stop(HOUSING, counts=True, outside=True), stop(SUB_SPINDLE)]
    told = done(stops, belts=["guide bushing belt"])
    assert [what for what, _place in told] == [SWEEP_AS_FOUND, LOOK_AT_BELT, PLAN_MOVE]


def test_what_was_moved_is_swept_as_left_before_what_hangs_on_it_is_moved():
    stops = [stop(HOUSING, moved=True), stop(SUB_SPINDLE, moved=True, counts=True, outside=True)]
    assert done(stops) == [(SWEEP_AS_LEFT, HOUSING), (PLAN_MOVE, SUB_SPINDLE)]


def test_one_that_is_left_outside_is_moved_once_more():
    stops = [stop(HOUSING, moved=True, counts=True, outside=True)]
    assert done(stops) == [(PLAN_MOVE, HOUSING)]


def test_no_move_is_planned_from_a_figure_that_tells_no_offset():
    stops = [stop(HEADSTOCK, counts=True, outside=True, planned=False)]
    assert done(stops) == [(ADJUST, HEADSTOCK)]


def test_a_move_waits_until_all_lines_of_its_station_are_swept_again():
    near = Line("near", moved=True, counts=True, outside=True)
    assert done([Stop(HOUSING, (near, Line("far", moved=True)))]) == [(SWEEP_AS_LEFT, HOUSING)]


def test_nothing_is_next_where_all_is_within():
    assert next_step(open_steps([stop(HEADSTOCK, counts=True)])) is None


def test_what_was_skipped_is_passed_over_and_what_was_just_moved_goes_first():
    steps = open_steps([stop(HEADSTOCK), stop(HOUSING, moved=True), stop(SUB_SPINDLE)])
    assert next_step(steps).stop == HEADSTOCK
    assert next_step(steps, {steps[0].key}).stop == SUB_SPINDLE
    assert next_step(steps, at=HOUSING).what == SWEEP_AS_LEFT
    assert step_at(steps, SUB_SPINDLE) == Step(SWEEP_AS_FOUND, SUB_SPINDLE, "sub-spindle bore")


lines = st.builds(
    lambda counts, outside, moved, planned: (counts, outside, moved, planned),
    *[st.booleans()] * 4,
)
machines = st.lists(st.lists(lines, max_size=3), max_size=6)


@given(machines)
def test_a_machine_is_done_exactly_when_every_line_counts_and_none_is_outside(machine):
    stops = [
        Stop(n + 1, tuple(Line((n, k), *said) for k, said in enumerate(of_stop)))
        for n, of_stop in enumerate(machine)
    ]
    left = [line for one in stops for line in one.lines if not line.counts or line.outside]
    assert bool(open_steps(stops)) == bool(left)


@given(machines)
def test_no_station_is_moved_while_a_figure_as_found_can_still_be_had(machine):
    stops = [
        Stop(n + 1, tuple(Line((n, k), *said) for k, said in enumerate(of_stop)))
        for n, of_stop in enumerate(machine)
    ]
    told = [step.what for step in open_steps(stops)]
    assert sorted(told, key=lambda what: what != SWEEP_AS_FOUND) == told
