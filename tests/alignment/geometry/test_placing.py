"""Where each station stands in the headstock's frame, and how surely."""

import numpy as np
import pytest

from alignment.geometry.placing import Link, offset_in_frame, place_stations

U = np.eye(2)
U4 = np.diag([1.0, 1.0, 4.0, 4.0])


def _guide(measured=(10, 0), covariance=U, **how):
    return Link("guide bushing", "headstock", 100, measured, covariance, **how)


def _sub(measured=(0, 5), covariance=U, **how):
    return Link("sub-spindle", "guide bushing", 300, measured, covariance, **how)


def test_offsets_add_along_the_chain():
    placed = place_stations([_sub(), _guide()], "headstock")
    assert placed.axes["sub-spindle"].parameters[:2] == pytest.approx([10, 5])


def test_a_tilted_datum_carries_its_stations_along():
    placed = place_stations([_guide((0, 0, 20, 0), U4), _sub((0, 0))], "headstock")
    assert placed.axes["sub-spindle"].parameters == pytest.approx([40, 0, 20, 0])


def test_a_view_back_to_the_headstock_turns_right_into_left():
    assert offset_in_frame(_sub((3, 5), view="to the headstock")) == (-3, 5)


def test_a_view_back_to_the_headstock_turns_a_slope_upwards_into_one_downwards():
    # Seen from the far side both right and z run the other way, up does not.
    link = _sub((0, 0, 7, 9), U4, view="to the headstock")
    placed = place_stations([_guide((0, 0)), link], "headstock")
    assert placed.axes["sub-spindle"].parameters[2:] == pytest.approx([7, -9])


def test_an_indicator_in_the_station_sees_its_datum_off_the_other_way():
    assert offset_in_frame(_sub((3, 5), indicator_in="station")) == (-3, -5)


def test_a_sub_spindle_that_sweeps_the_guide_bushing_from_the_far_side():
    # Turned with the sub-spindle it looks back: right is mirrored, and the bore is the datum.
    link = _sub((3, 5), view="to the headstock", indicator_in="station")
    assert offset_in_frame(link) == (3, -5)


def test_uncertainties_add_along_the_chain():
    placed = place_stations([_guide(), _sub()], "headstock")
    assert placed.axes["sub-spindle"].covariance[:2, :2] == pytest.approx(2 * np.eye(2))


def test_an_unsure_tilt_grows_with_the_distance():
    placed = place_stations([_guide((0, 0, 0, 0), U4), _sub()], "headstock")
    # 1 + 2² x 4 from the bushing 200 mm away, 1 of its own.
    assert placed.axes["sub-spindle"].covariance[0, 0] == pytest.approx(18)


def test_a_station_seen_from_its_own_datum_is_as_it_was_measured():
    placed = place_stations([_guide((10, 0, 20, 0), U4), _sub()], "headstock")
    seen = placed.seen_from("sub-spindle", "guide bushing")
    assert seen.parameters[:2] == pytest.approx([0, 5])
    assert seen.covariance[:2, :2] == pytest.approx(np.eye(2))


def test_two_stations_on_one_datum_compare_without_its_uncertainty():
    gang = Link("gang tools", "guide bushing", 300, (1, 1), U)
    placed = place_stations([_guide(covariance=100 * U), _sub(), gang], "headstock")
    seen = placed.seen_from("gang tools", "sub-spindle")
    assert seen.parameters[:2] == pytest.approx([1, -4])
    assert seen.covariance[:2, :2] == pytest.approx(2 * np.eye(2))


def test_an_unknown_link_leaves_all_beyond_it_unknown_and_nothing_else():
    unknown = np.diag([np.inf, np.inf])
    gang = Link("gang tools", "headstock", 50, (1, 1), U)
    placed = place_stations([_guide(covariance=unknown), _sub(), gang], "headstock")
    assert np.diagonal(placed.axes["sub-spindle"].covariance)[:2].tolist() == [np.inf, np.inf]
    assert placed.axes["gang tools"].covariance[:2, :2] == pytest.approx(np.eye(2))
    # Seen from the bushing itself the sub-spindle is as sure as its own sweep.
    seen = placed.seen_from("sub-spindle", "guide bushing")
    assert seen.covariance[:2, :2] == pytest.approx(np.eye(2))


def test_an_unknown_tilt_leaves_the_plane_that_was_swept_known():
    covariance = np.diag([1.0, 1.0, np.inf, np.inf])
    placed = place_stations([_guide((0, 0, 0, 0), covariance)], "headstock")
    axis = placed.axes["guide bushing"]
    assert axis.at(100).u_offset_um == pytest.approx(1)
    assert axis.at(101).u_offset_um == np.inf


def test_a_tilt_that_was_never_measured_is_said():
    placed = place_stations([_guide((10, 0, 0, 0), U4), _sub()], "headstock")
    assert placed.direction_measured == {
        "headstock": True,
        "guide bushing": True,
        "sub-spindle": False,
    }


REFUSED = [
    ([_sub()], "guide bushing was never measured"),
    ([_guide(), _guide()], "given twice"),
    ([Link("headstock", "guide bushing", 0, (0, 0), U)], "datum of all"),
    ([Link("a", "b", 0, (0, 0), U), Link("b", "a", 0, (0, 0), U)], "circle"),
    ([_guide(view="sideways")], "The indicator looks"),
    ([_guide(indicator_in="hand")], "datum or the station"),
    ([_guide((1, 2, 3), np.eye(3))], "two figures"),
    ([_guide((1, 2), U4)], "two figures"),
    ([_guide((1, float("nan")))], "finite"),
]


@pytest.mark.parametrize(("links", "reason"), REFUSED)
def test_links_that_make_no_chain_are_refused(links, reason):
    with pytest.raises(ValueError, match=reason):
        place_stations(links, "headstock")


def test_a_station_that_was_not_placed_is_seen_from_nowhere():
    with pytest.raises(ValueError, match="turret was never measured"):
        place_stations([_guide()], "headstock").seen_from("turret", "headstock")


def test_the_carried_covariance_is_that_of_simulated_chains():
    rng = np.random.default_rng(5)
    covariance = np.diag([4.0, 1.0, 9.0, 2.0])
    noise = rng.multivariate_normal(np.zeros(4), covariance, 10_000)
    own = rng.multivariate_normal(np.zeros(2), U, 10_000)
    simulated = np.cov((noise[:, :2] + 2 * noise[:, 2:] + own).T)
    placed = place_stations([_guide((0, 0, 0, 0), covariance), _sub()], "headstock")
    assert placed.axes["sub-spindle"].covariance[:2, :2] == pytest.approx(
        simulated, rel=0.05, abs=1
    )
