"""From what was reported at the machine to what to look at: a table of cases.

The rules are common practice, no source; the chain is the usual one of such a machine.
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines.engineering import triage_rules
from machines.engineering.datum_chain import Station
from machines.engineering.triage import (
    FAR_BEYOND,
    INSIDE,
    SEVERAL_TIMES,
    Belt,
    IncidentFacts,
    triage,
)

CHAIN = (
    Station("headstock spindle", "headstock"),
    Station("guide bushing", "guide bushing", "headstock spindle", 5.0),
    Station("sub-spindle", "sub-spindle", "guide bushing", 8.0),
    Station("back tools", "back tools", "sub-spindle", 10.0),
    Station("gang slide", "gang tools", "guide bushing", 15.0),
)
BELTS = (
    Belt("jack shaft belt", ("headstock",)),
    Belt("guide bushing belt", ("guide bushing",)),
    Belt("spare drive belt"),
)
QUIET = IncidentFacts("hit", CHAIN, belts=BELTS)


def subjects(conclusions):
    return [conclusion.subject for conclusion in conclusions]


def reason_for(subject, conclusions):
    return next(c.reason for c in conclusions if c.subject == subject)


# Changes to a bare hit report, whether to stop, the stations that may have moved.
CASES = [
    ({"where": ("gang slide",), "severity": "touch"}, False, ["gang slide"]),
    ({"where": ("gang slide",), "severity": "knock"}, False, ["gang slide"]),
    ({"where": ("gang slide",), "severity": "hard"}, True, ["gang slide"]),
    ({"where": ("back tools",), "severity": "knock"}, False, ["back tools"]),
    ({"where": ("sub-spindle",), "severity": "touch"}, False, ["sub-spindle"]),
    ({"where": ("sub-spindle",), "severity": "knock"}, True, ["sub-spindle", "back tools"]),
    (
        {"where": ("guide bushing",), "severity": "knock"},
        True,
        ["guide bushing", "sub-spindle", "back tools", "gang slide"],
    ),
    ({"where": ("headstock spindle",), "severity": "knock"}, True, [s.name for s in CHAIN]),
    ({"severity": "knock"}, True, [s.name for s in CHAIN]),
    ({"where": ("gang slide",), "may_run": False}, True, ["gang slide"]),
    ({"what": "tool broken", "where": ("gang slide",)}, False, []),
    ({"what": "noise", "where": ("guide bushing",)}, False, []),
    ({"what": "leak"}, True, []),
    ({"what": "belt slipped"}, True, []),
    ({"what": "drifting size", "where": ("gang slide",)}, False, ["guide bushing", "gang slide"]),
    (
        {"what": "drifting size", "where": ("back tools",)},
        False,
        ["guide bushing", "sub-spindle", "back tools"],
    ),
    ({"what": "drifting size"}, False, [s.name for s in CHAIN]),
    ({"what": "other"}, False, []),
]


@pytest.mark.parametrize(("changes", "stop", "suspects"), CASES)
def test_cases_from_the_floor(changes, stop, suspects):
    advice = triage(replace(QUIET, **changes))
    assert advice.stop is stop
    assert subjects(advice.suspects) == suspects


# Offset in µm at the guide bushing (tolerance 5 µm), the grade, whether to stop for it. A tenth
# of an inch, 2540 µm, is hundreds of times a spindle-alignment tolerance.
GRADES = [
    (0, INSIDE, False),
    (5, INSIDE, False),
    (5.1, SEVERAL_TIMES, True),
    (50, SEVERAL_TIMES, True),
    (51, FAR_BEYOND, True),
    (2540, FAR_BEYOND, True),
]


@pytest.mark.parametrize(("offset", "grade", "stop"), GRADES)
def test_the_offset_is_graded_by_the_tolerance_of_the_station(offset, grade, stop):
    facts = replace(QUIET, where=("guide bushing",), severity="touch", offset_um=offset)
    advice = triage(facts)
    assert (advice.grade, advice.stop) == (grade, stop)


def test_a_tenth_of_an_inch_is_never_run_on_and_says_by_how_much():
    advice = triage(replace(QUIET, where=("guide bushing",), offset_um=2540))
    assert advice.stop_reasons == (
        "Never run on: 2540 µm is 508 times the 5 µm allowed at the guide bushing.",
    )


def test_the_tightest_tolerance_of_the_stations_hit_counts():
    facts = replace(QUIET, where=("gang slide", "sub-spindle"), offset_um=9)
    assert triage(facts).grade_reason == ("9 µm is 1.1 times the 8 µm allowed at the sub-spindle.")


def test_without_a_sheet_only_a_huge_offset_is_graded():
    bare = tuple(replace(station, tolerance_um=None) for station in CHAIN)
    small = triage(IncidentFacts("hit", bare, where=("gang slide",), offset_um=20))
    huge = triage(IncidentFacts("hit", bare, where=("gang slide",), offset_um=2540))
    assert (small.grade, small.stop) == (None, False)
    assert "No tolerance is on record" in small.grade_reason
    assert (huge.grade, huge.stop) == (FAR_BEYOND, True)


def test_checking_begins_at_the_headstock_and_follows_the_chain():
    advice = triage(replace(QUIET, where=("back tools",), severity="knock"))
    assert subjects(advice.order) == [
        "headstock spindle",
        "guide bushing",
        "sub-spindle",
        "back tools",
    ]
    assert "least likely to have moved" in advice.order[0].reason
    assert advice.order[1].reason == "It stands in the chain before the back tools."
    assert advice.order[-1].reason == "It was hit."


def test_what_hangs_on_the_hit_station_says_on_what_it_hangs():
    advice = triage(replace(QUIET, where=("guide bushing",), severity="knock"))
    assert reason_for("back tools", advice.suspects) == (
        "It is measured from the guide bushing, which was hit."
    )


def test_a_chain_listed_out_of_order_is_still_checked_datums_first():
    shuffled = (CHAIN[3], CHAIN[2], CHAIN[0], CHAIN[1], CHAIN[4])
    advice = triage(IncidentFacts("hit", shuffled, where=("back tools",)))
    assert subjects(advice.order) == [
        "headstock spindle",
        "guide bushing",
        "sub-spindle",
        "back tools",
    ]


def test_a_machine_without_guide_bushing_gets_its_own_chain():
    chain = (CHAIN[0], replace(CHAIN[2], datum="headstock spindle"))
    advice = triage(IncidentFacts("hit", chain, where=("sub-spindle",), severity="hard"))
    assert subjects(advice.order) == ["headstock spindle", "sub-spindle"]


def test_the_belt_that_turns_the_hit_station_carried_the_shock():
    advice = triage(replace(QUIET, where=("guide bushing",), severity="knock"))
    assert "carried the shock" in reason_for("guide bushing belt", advice.parts)
    assert "jack shaft belt" not in subjects(advice.parts)


def test_a_belt_nobody_described_is_looked_at_when_a_spindle_was_hit():
    advice = triage(replace(QUIET, where=("sub-spindle",)))
    assert "is not recorded" in reason_for("spare drive belt", advice.parts)


def test_a_hit_on_a_tool_slide_leaves_the_belts_alone():
    advice = triage(replace(QUIET, where=("gang slide",)))
    assert not {belt.name for belt in BELTS} & set(subjects(advice.parts))


def test_every_belt_is_looked_at_when_one_slipped():
    parts = subjects(triage(replace(QUIET, what="belt slipped")).parts)
    assert {belt.name for belt in BELTS} < set(parts)


def test_the_axis_and_direction_name_the_screw_that_took_the_push():
    advice = triage(replace(QUIET, where=("gang slide",), axis="X1", direction="minus"))
    assert reason_for("ball screw, nut and coupling of X1", advice.parts) == (
        "The push went through X1 minus."
    )


@pytest.mark.parametrize("kind", [k for k in triage_rules.STATION_KINDS if k != "headstock"])
def test_each_kind_of_station_has_parts_to_look_at_after_a_hit(kind):
    chain = (CHAIN[0], Station("the station", kind, "headstock spindle"))
    assert triage(IncidentFacts("hit", chain, where=("the station",))).parts


def test_a_part_named_twice_is_listed_once():
    both = triage(replace(QUIET, where=("headstock spindle", "guide bushing", "sub-spindle")))
    parts = subjects(both.parts)
    assert len(parts) == len(set(parts))


@pytest.mark.parametrize("event", triage_rules.EVENTS)
def test_locking_out_comes_before_everything_else(event):
    assert triage(replace(QUIET, what=event)).cautions[0].startswith("Lock out and discharge")


def test_work_on_the_guide_bushing_carries_its_own_cautions():
    cautions = " ".join(triage(replace(QUIET, where=("guide bushing",))).cautions)
    assert "never hammered out" in cautions
    assert "stop bars and adjuster bolts" in cautions


def test_a_tool_slide_hit_does_not_warn_of_the_jack_shaft():
    assert "jack shaft" not in " ".join(triage(replace(QUIET, where=("gang slide",))).cautions)


@settings(max_examples=80)
@given(
    st.sampled_from(triage_rules.EVENTS),
    st.sets(st.sampled_from([s.name for s in CHAIN])),
    st.sampled_from([None, *triage_rules.SEVERITIES]),
    st.one_of(st.none(), st.floats(0, 1e5)),
)
def test_every_conclusion_has_a_reason_and_every_suspect_is_checked(what, where, severity, offset):
    facts = replace(
        QUIET, what=what, where=tuple(sorted(where)), severity=severity, offset_um=offset
    )
    advice = triage(facts)
    assert all(c.reason.endswith(".") for c in advice.suspects + advice.parts + advice.order)
    assert set(subjects(advice.suspects)) <= set(subjects(advice.order))
    assert advice.stop == bool(advice.stop_reasons)


@settings(max_examples=60)
@given(st.floats(0, 3000), st.floats(0, 3000))
def test_a_larger_offset_never_gets_a_milder_grade(one, other):
    order = [INSIDE, SEVERAL_TIMES, FAR_BEYOND]
    small, large = sorted((one, other))
    facts = replace(QUIET, where=("sub-spindle",))
    milder = triage(replace(facts, offset_um=small)).grade
    assert order.index(milder) <= order.index(triage(replace(facts, offset_um=large)).grade)


LOOP = (
    CHAIN[0],
    Station("a", "other", "b"),
    Station("b", "other", "a"),
)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"what": "bang"}, "What happened is “bang”; expected one of hit, tool broken"),
        ({"severity": "awful"}, "How hard it was is “awful”"),
        ({"where": ("ceiling",)}, "Where it happened is “ceiling”"),
        ({"offset_um": -3}, "offset seen cannot be negative"),
        ({"stations": ()}, "exactly one first station"),
        ({"stations": (*CHAIN, CHAIN[0])}, "same name"),
        ({"stations": (*CHAIN, Station("x", "other", "roof"))}, "measured from an unknown “roof”"),
        ({"stations": LOOP}, "measured from itself, in a circle"),
        ({"stations": (Station("x", "lathe"),)}, "kind of the x is “lathe”"),
        ({"stations": (replace(CHAIN[0], tolerance_um=0),)}, "tolerance of the headstock"),
    ],
)
def test_reports_that_fit_no_machine_are_refused(changes, message):
    with pytest.raises(ValueError, match=message):
        triage(replace(QUIET, **changes))
