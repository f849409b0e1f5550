"""When the chance of being outside passes the risk, and how sure that date is."""

import numpy as np
import pytest
from scipy import stats

from alignment.geometry.drift.fit import fit_drift
from alignment.geometry.drift.forecast import chance_outside, forecast, time_of_risk
from alignment.geometry.drift.intervals import make_intervals
from alignment.geometry.drift.outside import outside_circle
from alignment.geometry.drift.posterior import Belief
from alignment.geometry.drift.prediction import Start
from alignment.geometry.drift.prediction_bands import distance_fan, fan
from alignment.geometry.drift.tolerance import Circle, Limits
from tests.alignment.geometry.fleets import U_UM, covered, fleet, true_date

REACH_UM, HORIZON = 15.0, 50.0


def sure(rate, walk=0.0, cov=0.0):
    """A belief that knows rate and walk."""
    rate = np.atleast_1d(np.asarray(rate, float))
    one = np.ones((1, 1))
    return Belief(
        one,
        one * walk,
        rate[None, None],
        np.broadcast_to(cov * np.eye(len(rate)), (1, 1, len(rate), len(rate))),
        one,
        np.array([True]),
    )


def outlook(belief, position, tolerance, **more):
    start = Start(np.atleast_2d(np.asarray(position, float)), more.pop("cov", 0.0))
    return forecast(belief, start, tolerance, horizon=more.pop("horizon", 50.0), **more)


def test_a_known_steady_drift_is_out_when_it_gets_there():
    """2 µm a year from 4 µm to 10 µm: three years."""
    assert outlook(sure(2.0), [4.0], Limits(-10, 10)).date[0] == pytest.approx(3, rel=1e-3)


def test_a_vector_is_out_when_it_reaches_the_circle_not_a_side_of_it():
    """(6, 0) moving up at 2 µm a year meets the 10 µm circle 8 µm up: four years."""
    date = outlook(sure([0.0, 2.0]), [6.0, 0.0], Circle(10)).date[0]
    assert date == pytest.approx(4, rel=1e-3)


def test_drifting_towards_the_middle_it_has_the_way_across_as_well():
    assert outlook(sure([-2.0, 0.0]), [6.0, 0.0], Circle(10)).date[0] == pytest.approx(8, rel=1e-3)


def test_with_walk_alone_the_date_is_where_the_normal_tail_is_the_risk():
    """Variance 4 µm² a year towards a single limit 10 µm off."""
    date = outlook(sure(0.0, walk=4.0), [0.0], Limits(-np.inf, 10)).date[0]
    assert date == pytest.approx((10 / stats.norm.ppf(0.95)) ** 2 / 4, rel=2e-3)


def test_at_the_date_the_chance_is_the_risk():
    machines = fleet(5, machines=200)
    belief, start = fit_drift(machines.intervals).belief, Start(machines.measured_um, U_UM**2)
    dates = forecast(belief, start, Circle(REACH_UM), horizon=HORIZON).date
    inside = np.flatnonzero((dates > 0) & np.isfinite(dates))
    chance = [
        chance_outside(belief.take([s]), Start(start.position_um[[s]], 1.0), Circle(15), dates[s])
        for s in inside
    ]
    np.testing.assert_allclose(np.ravel(chance), 0.05, atol=5e-4)


@pytest.mark.parametrize("walk_ratio", [0.5, 1.0], ids=["little walk", "as much walk as noise"])
@pytest.mark.parametrize("parts", [1, 2], ids=["single figures", "vectors"])
@pytest.mark.parametrize("visits", [3, 5, 12])
def test_the_interval_of_the_date_holds_the_true_date(visits, parts, walk_ratio):
    machines = fleet(visits, parts=parts, walk_ratio=walk_ratio)
    tolerance = Circle(REACH_UM) if parts == 2 else Limits(-REACH_UM, REACH_UM)
    start = Start(machines.measured_um, U_UM**2)
    seen = forecast(fit_drift(machines.intervals).belief, start, tolerance, horizon=HORIZON)
    truth = true_date(machines, REACH_UM, 0.05, HORIZON)
    share = covered(seen.earliest * 0.999, truth, seen.latest * 1.001)
    assert 0.93 <= share <= 0.97


def test_when_the_date_comes_no_more_machines_are_out_than_the_risk_says():
    machines = fleet(5)
    start = Start(machines.measured_um, U_UM**2)
    dates = forecast(
        fit_drift(machines.intervals).belief, start, Circle(REACH_UM), horizon=HORIZON
    ).date
    soon = np.isfinite(dates)
    mean = machines.position_um + machines.rate_um * np.where(soon, dates, 0)[:, None]
    out = outside_circle(mean[soon], machines.walk_um2 * dates[soon], REACH_UM)
    assert 0.01 < out.mean() < 0.05


def test_a_lower_risk_is_passed_earlier():
    belief = sure([2.0, 0.0], walk=3.0)
    dates = [outlook(belief, [1, 1], Circle(10), risk=r).date[0] for r in (0.01, 0.05, 0.2)]
    assert dates == sorted(dates)


def test_already_outside_says_check_now():
    seen = outlook(sure([0.0, 0.0], walk=1.0), [11.0, 0.0], Circle(10), now=0.3)
    assert seen.next_check[0] == 0.3
    assert "check now" in seen.note(0)


def test_a_steady_machine_is_not_out_within_the_horizon():
    seen = outlook(sure([0.1, 0.0]), [0.0, 0.0], Circle(10), horizon=5.0)
    assert np.isinf(seen.date[0])
    assert "stays under 5 %" in seen.note(0)


def test_a_steady_machine_is_still_checked_as_often_as_asked():
    seen = outlook(sure([0.1, 0.0]), [0.0, 0.0], Circle(10), horizon=5.0, longest=2.0)
    assert seen.next_check[0] == 2.0


def test_a_machine_not_checked_for_long_has_its_chance_from_the_forecast():
    belief = sure([2.0, 0.0], walk=1.0)
    chances = [outlook(belief, [0, 0], Circle(10), now=n).chance_now[0] for n in (0, 4, 6, 9)]
    assert chances == sorted(chances)
    assert chances[-1] > 0.99


def test_an_incident_since_the_last_measurement_is_not_forecast_away():
    seen = outlook(sure([0.1, 0.0]), [0.0, 0.0], Circle(10), now=1.0, disturbed=True)
    assert seen.next_check[0] == 1.0
    assert "no forecast covers a knock" in seen.note(0)


def test_with_nothing_known_nothing_is_promised():
    belief = fit_drift(make_intervals([[1.0]], [[[3.0, 1.0]]], 1.0, 1.0)).belief
    seen = outlook(belief, [0.0, 0.0], Circle(10))
    assert np.isnan([seen.chance_now[0], seen.date[0], seen.next_check[0]]).all()
    assert "nothing to borrow from" in seen.note(0)


def test_the_fan_of_a_known_drift_is_the_normal_band():
    low, high = fan(sure([2.0, -1.0], walk=4.0), Start(np.zeros((1, 2)), 1.0), [0.0, 3.0])
    middle, half = np.array([6, -3]), stats.norm.ppf([[0.75], [0.975]]) * np.sqrt(1 + 4 * 3)
    np.testing.assert_allclose(high[0, 1], middle + half, rtol=1e-3)
    np.testing.assert_allclose(low[0, 1], middle - half, rtol=1e-3)


def test_the_fan_of_the_distance_agrees_with_a_hundred_thousand_draws():
    low, high = distance_fan(sure([2.0, 1.0], walk=4.0), Start(np.zeros((1, 2)), 1.0), [3.0])
    draws = np.random.default_rng(2).normal([6, 3], np.sqrt(13), (100_000, 2))
    expected = np.quantile(np.hypot(*draws.T), [0.25, 0.025, 0.75, 0.975])
    np.testing.assert_allclose(np.r_[low[0, 0], high[0, 0]], expected, rtol=0.02)


def test_the_tolerance_in_force_now_decides():
    dates = [outlook(sure([2.0, 0.0]), [0, 0], Circle(r)).date[0] for r in (8.0, 10.0)]
    assert dates == pytest.approx([4, 5], rel=1e-3)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"horizon": 0.0}, "a horizon longer than 0"),
        ({"risk": 0.7}, "a risk between 0 and 0.5"),
        ({"tolerance": Limits(-1, 1)}, "A circle is for"),
        ({"position": [[1.0, 2.0, 3.0]]}, "Starting positions"),
    ],
)
def test_a_forecast_that_cannot_be_meant_is_refused(more, said):
    more = {"position": [0, 0], "tolerance": Circle(10)} | more
    with pytest.raises(ValueError, match=said):
        outlook(sure([1.0, 0.0]), more.pop("position"), more.pop("tolerance"), **more)


@pytest.mark.parametrize("risk", [0.02, 0.05, 0.3, 0.6, 0.95])
def test_any_risk_has_its_day(risk):
    """Variance 4 µm² a year about a drift of 2 µm a year, towards one limit 10 µm off."""
    belief, start = sure(2.0, walk=4.0), Start(np.zeros((1, 1)))
    time = time_of_risk(belief, start, Limits(-np.inf, 10), horizon=50.0, risk=risk)
    reached = chance_outside(belief, start, Limits(-np.inf, 10), time)
    assert reached[0, 0] == pytest.approx(risk, abs=2e-3)


def test_up_to_one_half_the_day_of_a_risk_is_that_of_the_forecast():
    machines = fleet(5, machines=50)
    given = fit_drift(machines.intervals).belief, Start(machines.measured_um, U_UM**2), Circle(15)
    for risk in (0.02, 0.2):
        day = time_of_risk(*given, horizon=HORIZON, risk=risk)
        np.testing.assert_array_equal(day, forecast(*given, horizon=HORIZON, risk=risk).date)


def test_a_risk_of_nothing_or_of_everything_has_no_day():
    with pytest.raises(ValueError, match="a risk between 0 and 1"):
        time_of_risk(sure(2.0), Start(np.zeros((1, 1))), Limits(-1, 1), horizon=5.0, risk=1.0)
