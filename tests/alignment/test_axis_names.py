"""What a machine calls right and up at a station."""

import pytest

from alignment.axes import axis_names
from machines.models import Axis
from tests.factories import AxisFactory, StationFactory


@pytest.fixture
def named(db):
    """The names at a station for axes given as (name, what it moves, where plus points)."""

    def names(*axes, station="guide bushing housing"):
        place = StationFactory(name=station, kind="other")
        made = [
            AxisFactory(machine=place.machine, name=name, moves=moves, view=view)
            for name, moves, view in axes
        ]
        found = axis_names(place, made)
        return found.right, found.up

    return names


@pytest.mark.parametrize(
    ("view", "expected"),
    [
        (Axis.View.RIGHT, ("X+", "")),
        (Axis.View.LEFT, ("X−", "")),
        (Axis.View.UP, ("", "X+")),
        (Axis.View.DOWN, ("", "X−")),
        (Axis.View.ALONG, ("", "")),
        (Axis.View.NONE, ("", "")),
    ],
)
def test_an_axis_whose_plus_points_the_other_way_counts_as_minus(named, view, expected):
    assert named(("X", "slide", view)) == expected


def test_the_axis_that_moves_the_station_goes_before_the_others(named):
    axes = [("X1", "gang tool slide", "right"), ("X2", "the sub-spindle", "left")]
    assert named(*axes, station="sub-spindle") == ("X2−", "")


def test_where_several_point_the_same_way_all_are_named(named):
    axes = [("X1", "gang tool slide", "right"), ("X2", "sub-spindle", "right")]
    assert named(*axes) == ("X1+/X2+", "")


def test_a_direction_the_station_s_own_axis_lacks_is_taken_from_the_machine(named):
    axes = [("X2", "sub-spindle", "right"), ("Y1", "gang tool slide", "up")]
    assert named(*axes, station="sub-spindle") == ("X2+", "Y1+")
