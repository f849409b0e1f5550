"""What a check is worth by what happened since it was measured.

The expectations are derived from what a check says: where a station stands from its own datum.
Moving either end changes that; moving both alike, from further up, does not.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.geometry.adjust.chain import measured_from, station_path
from alignment.geometry.adjust.state import BEFORE_A_CRASH, NOT_MEASURED, STALE, Knock, check_state

# The usual chain (common practice, no source).
DATUM = {
    "headstock": None,
    "guide bushing": "headstock",
    "sub-spindle": "guide bushing",
    "back tools": "sub-spindle",
    "gang tools": "guide bushing",
}
STATIONS = st.sampled_from([*DATUM])
VERDICTS = st.sampled_from(["within", "outside", "not proven"])
# (what, where): a check of the station asked about, an adjustment, or an incident, whose place
# may be unknown.
EVENTS = st.lists(
    st.one_of(
        st.tuples(st.just("check"), VERDICTS),
        st.tuples(st.just("adjust"), STATIONS),
        st.tuples(st.just("hit"), st.frozensets(STATIONS, max_size=2)),
    ),
    max_size=12,
)


def state_after(station, events):
    """The state by the rule, each event a minute after the one before."""
    measured_at, verdict, adjusted, knocks = None, "", {}, []
    for minute, (what, said) in enumerate(events):
        if what == "check":
            measured_at, verdict = minute, said
        elif what == "adjust":
            adjusted[said] = minute
        else:
            knocks.append(Knock(minute, said, minute))
    return check_state(
        station,
        DATUM[station],
        measured_at=measured_at,
        verdict=verdict,
        adjusted=adjusted,
        knocks=knocks,
    )


class Casting:
    """A machine in one dimension that keeps where each casting really stands: what the rule may
    go by is whether the truth of the link can have changed since it was read."""

    def __init__(self, station):
        self.ends = {station, DATUM[station]} - {None}
        self.word, self.known = NOT_MEASURED, False

    def happens(self, what, said):
        if what == "check":
            self.word, self.known = said, True
        elif self.known and what == "adjust" and said in self.ends and self.word != BEFORE_A_CRASH:
            self.word = STALE
        elif self.known and what == "hit" and (not said or said & self.ends):
            self.word = BEFORE_A_CRASH


@given(station=STATIONS, events=EVENTS)
def test_whatever_happens_in_whatever_order_the_state_is_what_can_be_known(station, events):
    casting = Casting(station)
    for event in events:
        casting.happens(*event)
    assert state_after(station, events).word == casting.word


@given(station=STATIONS, events=EVENTS)
def test_only_what_touches_the_link_says_that_it_is_to_be_measured_again(station, events):
    """Whatever else is left out of the story changes nothing."""
    ends = {station, DATUM[station]}

    def touches(what, said):
        return what == "check" or (said in ends if what == "adjust" else not said or said & ends)

    alone = [event for event in events if touches(*event)]
    assert state_after(station, alone).word == state_after(station, events).word


@given(station=STATIONS, events=EVENTS, verdict=VERDICTS)
def test_measured_anew_it_counts_again(station, events, verdict):
    state = state_after(station, [*events, ("check", verdict)])
    assert (state.word, state.counts, state.moved, state.knock) == (verdict, True, (), None)


@given(events=EVENTS, unknown=st.booleans())
def test_after_a_crash_nothing_it_hit_counts_until_it_is_measured(events, unknown):
    place = frozenset() if unknown else frozenset({"guide bushing"})
    story = [("check", "within"), *events, ("hit", place)]
    for station in ("guide bushing", "sub-spindle", "gang tools"):
        state = state_after(station, story)
        assert state.word == BEFORE_A_CRASH
        assert state.knock.record == len(story) - 1


@pytest.mark.parametrize("moved", DATUM)
def test_a_move_makes_stale_what_it_carries_one_end_of_and_nothing_further_out(moved):
    for station in DATUM:
        state = state_after(station, [("check", "within"), ("adjust", moved)])
        is_end = moved in (station, DATUM[station])
        assert (state.word == STALE) is is_end
        assert state.moved == ((moved,) if is_end else ())


def test_nothing_between_sub_spindle_and_back_tools_changes_when_only_the_housing_moves():
    assert "back tools" in measured_from(DATUM, "guide bushing")
    assert "guide bushing" in station_path(DATUM, "back tools")
    assert state_after("back tools", [("check", "within"), ("adjust", "guide bushing")]).counts


def test_what_happened_at_the_very_moment_of_measuring_came_before_it():
    state = check_state(
        "sub-spindle",
        "guide bushing",
        measured_at=5,
        verdict="within",
        adjusted={"sub-spindle": 5},
        knocks=[Knock(5)],
    )
    assert state.counts


def test_the_newest_of_several_crashes_is_named():
    story = [("check", "within"), ("hit", frozenset()), ("hit", frozenset({"sub-spindle"}))]
    assert state_after("sub-spindle", story).knock.record == 2


def test_what_was_never_measured_is_neither_stale_nor_before_a_crash():
    state = state_after("sub-spindle", [("adjust", "sub-spindle"), ("hit", frozenset())])
    assert (state.word, state.counts) == (NOT_MEASURED, False)
