"""The datum chain: its order, and what is wrong with one."""

import pytest

from alignment.geometry.adjust.chain import checking_order, measured_from, station_path

FIVE = {
    "gang tools": "guide bushing",
    "headstock": None,
    "guide bushing": "headstock",
    "back tools": "sub-spindle",
    "sub-spindle": "guide bushing",
}


def test_each_datum_is_checked_before_what_is_measured_from_it():
    assert checking_order(FIVE) == (
        "headstock",
        "guide bushing",
        "gang tools",
        "sub-spindle",
        "back tools",
    )


def test_the_path_to_a_station_starts_at_the_datum_of_all():
    assert station_path(FIVE, "back tools") == (
        "headstock",
        "guide bushing",
        "sub-spindle",
        "back tools",
    )


def test_all_that_is_measured_from_a_station_includes_what_is_measured_through_others():
    assert measured_from(FIVE, "guide bushing") == ("gang tools", "sub-spindle", "back tools")
    assert measured_from(FIVE, "back tools") == ()


BROKEN = [
    ({}, "no station"),
    ({"a": "b", "b": "a"}, "circle: a is measured from b, b is measured from a"),
    ({"a": None, "b": "b"}, "circle: b is measured from b"),
    ({"a": None, "b": "d", "c": "b", "d": "c"}, "circle"),
    ({"a": None, "b": "x"}, "x is not a station of this chain; b is said"),
    ({"a": None, "b": None}, "a and b have no datum"),
]


@pytest.mark.parametrize(("datum_of", "reason"), BROKEN)
def test_a_broken_chain_is_refused_by_naming_the_break(datum_of, reason):
    with pytest.raises(ValueError, match=reason):
        checking_order(datum_of)


def test_the_stations_that_only_lead_into_a_loop_are_not_blamed_for_it():
    with pytest.raises(ValueError, match=r"circle: b is measured from c, c is measured from b\.$"):
        station_path({"a": "b", "b": "c", "c": "b"}, "a")


def test_asking_for_a_station_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="not a station"):
        measured_from(FIVE, "turret")
