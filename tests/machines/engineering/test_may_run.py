"""May a machine run: the strictest of what is known, with a case for each cause."""

from hypothesis import given
from hypothesis import strategies as st

from machines.engineering.may_run import NO, NOT_YET, YES, may_run

STRICT = {YES: 0, NOT_YET: 1, NO: 2}
LINES = st.lists(st.text(min_size=1, max_size=9), max_size=3)


def test_with_nothing_against_it_it_runs():
    assert may_run().words == "yes"


def test_stopped_it_does_not():
    told = may_run(stopped="stopped until looked at, since 4 Mar 2025")
    assert told.words == "no: stopped until looked at, since 4 Mar 2025"


def test_advice_before_it_runs_again_forbids_it_though_nobody_stopped_it():
    told = may_run(before_it_runs=["Replace the jack shaft belt"])
    assert told.words == "no: before it runs again: Replace the jack shaft belt"


def test_what_is_outside_is_settled_first():
    assert may_run(outside=["sub-spindle"]).words == "not yet: outside its limits: sub-spindle"


def test_what_was_not_measured_since_a_crash_is_settled_first():
    told = may_run(before_a_crash=["sub-spindle: before the crash of 27 Nov 2026: measure again"])
    assert told.word == NOT_YET


@given(st.text(max_size=9), LINES, LINES, LINES)
def test_one_more_cause_never_makes_it_milder(stopped, advice, outside, crash):
    told = may_run(stopped=stopped, before_it_runs=advice, outside=outside, before_a_crash=crash)
    alone = [
        may_run(stopped=stopped),
        may_run(before_it_runs=advice),
        may_run(outside=outside),
        may_run(before_a_crash=crash),
    ]
    assert STRICT[told.word] == max(STRICT[one.word] for one in alone)
    assert sorted(told.causes) == sorted(cause for one in alone for cause in one.causes)
