"""Where each station stands in the machine's frame, and how surely."""

import numpy as np
import pytest

from alignment.geometry.adjust.positions import Link, place_stations

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


def test_uncertainties_add_along_the_chain():
    placed = place_stations([_guide(), _sub()], "headstock")
    assert placed.axes["sub-spindle"].covariance[:2, :2] == pytest.approx(2 * np.eye(2))


def test_an_unsure_tilt_grows_with_the_distance():
    placed = place_stations([_guide((0, 0, 0, 0), U4), _sub()], "headstock")
    # 1 + 2² x 4 from the bushing 200 mm away, 1 of its own.
    assert placed.axes["sub-spindle"].covariance[0, 0] == pytest.approx(18)


def test_an_unknown_link_leaves_all_beyond_it_unknown_and_nothing_else():
    unknown = np.diag([np.inf, np.inf])
    gang = Link("gang tools", "headstock", 50, (1, 1), U)
    placed = place_stations([_guide(covariance=unknown), _sub(), gang], "headstock")
    assert np.diagonal(placed.axes["sub-spindle"].covariance)[:2].tolist() == [np.inf, np.inf]
    assert placed.axes["gang tools"].covariance[:2, :2] == pytest.approx(np.eye(2))


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
    ([Link("headstock", "guide bushing", 0, (0, 0), U)], "master datum"),
    ([Link("a", "b", 0, (0, 0), U), Link("b", "a", 0, (0, 0), U)], "circle"),
    ([_guide((1, 2, 3), np.eye(3))], "two figures"),
    ([_guide((1, 2), U4)], "two figures"),
    ([_guide((1, float("nan")))], "finite"),
]


@pytest.mark.parametrize(("links", "reason"), REFUSED)
def test_links_that_make_no_chain_are_refused(links, reason):
    with pytest.raises(ValueError, match=reason):
        place_stations(links, "headstock")


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


def _direct(measured=(10, 5), covariance=U, **how):
    """The sub-spindle swept from the headstock itself."""
    return Link("sub-spindle", "headstock", 300, measured, covariance, **how)


def test_a_loop_that_closes_says_so_and_by_how_much():
    placed = place_stations([_guide(), _sub()], "headstock", [_direct((11, 5))])
    (closure,) = placed.closures
    assert (closure.front_um, closure.up_um) == pytest.approx((1, 0))
    # Three links of 1 µm each: the gap is known to the root of three.
    assert closure.u_um == pytest.approx(3**0.5)
    assert closure.closes


def test_a_loop_that_does_not_close_says_so():
    placed = place_stations([_guide(), _sub()], "headstock", [_direct((20, 5))])
    assert placed.closures[0].closes is False


def test_a_loop_of_unknown_uncertainty_closes_neither_way_and_moves_nothing():
    unknown = np.diag([np.inf, np.inf])
    placed = place_stations([_guide(), _sub()], "headstock", [_direct((20, 5), unknown)])
    assert placed.closures[0].closes is None
    assert placed.axes["sub-spindle"].parameters[:2] == pytest.approx([10, 5])


def test_a_gap_is_shared_out_by_the_covariances():
    """Weighted least squares by hand: two links of variance 1 against one of 2 say 12 and 10."""
    placed = place_stations([_guide(), _sub()], "headstock", [_direct((12, 5), 2 * U)])
    sub, guide = placed.axes["sub-spindle"], placed.axes["guide bushing"]
    assert sub.parameters[:2] == pytest.approx([11, 5])
    assert guide.parameters[:2] == pytest.approx([10.5, 0])
    assert sub.covariance[0, 0] == pytest.approx(1)
    assert guide.covariance[0, 0] == pytest.approx(0.75)


def test_all_links_weighed_are_the_least_squares_of_numpy():
    """Against numpy's own least squares on the whitened equations, with leans in the links."""
    rng = np.random.default_rng(9)
    cov = [np.diag(rng.uniform(0.5, 4, 4)) for _ in range(3)]
    seen = [rng.normal(0, 10, 4) for _ in range(3)]
    links = [_guide(seen[0], cov[0]), _sub(seen[1], cov[1])]
    placed = place_stations(links, "headstock", [_direct(seen[2], cov[2])])
    carry = np.eye(4)
    carry[:2, 2:] = 2 * np.eye(2)  # 200 mm from the bushing to the sub-spindle
    none = np.zeros((4, 4))
    equations = [np.hstack([np.eye(4), none]), np.hstack([-carry, np.eye(4)])]
    equations.append(np.hstack([none, np.eye(4)]))
    white = [np.linalg.inv(np.sqrt(one)) for one in cov]
    design = np.vstack([w @ e for w, e in zip(white, equations, strict=True)])
    told = np.concatenate([w @ s for w, s in zip(white, seen, strict=True)])
    best = np.linalg.lstsq(design, told, rcond=None)[0]
    assert placed.axes["guide bushing"].parameters == pytest.approx(best[:4])
    assert placed.axes["sub-spindle"].parameters == pytest.approx(best[4:])
    spread = np.linalg.inv(design.T @ design)
    assert placed.axes["sub-spindle"].covariance == pytest.approx(spread[4:, 4:])


def test_loops_fail_to_close_as_often_as_promised():
    """5 % of 4,000 true loops: within four standard deviations of such a count."""
    rng = np.random.default_rng(11)
    failed = 0
    for first, second, third in rng.normal(0, 1, (4000, 3, 2)):
        placed = place_stations([_guide(first), _sub(second)], "headstock", [_direct(third)])
        failed += placed.closures[0].closes is False
    assert 0.036 < failed / 4000 < 0.064


def test_a_loop_needs_both_ends_placed():
    with pytest.raises(ValueError, match="turret was never measured"):
        place_stations([_guide()], "headstock", [Link("turret", "headstock", 1, (0, 0), U)])
