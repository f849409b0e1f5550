"""What a crash moved: exact against the plain sum over combinations, calibrated in simulation."""

from itertools import product

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from alignment.geometry.moved.belief import Swept, believe
from alignment.geometry.moved.next_sweep import Offered, worth_of_sweeps
from alignment.geometry.moved.prior import (
    BESIDE,
    CHANCES,
    ELSEWHERE,
    HARD,
    HIT,
    SCALES_UM,
    Case,
    Prior,
    crash_prior,
)
from tests.simulated import crashes

LINKS = ((1, 0, (12.0, -3.0)), (2, 1, (-11.0, 4.0)), (3, 1, (0.5, 0.2)))


def prior_of(*chance, scale_um=20.0):
    count = len(chance)
    spread = np.tile(scale_um**2 * np.eye(2), (count, 1, 1))
    return Prior(np.array(chance), spread, np.eye(count, dtype=bool))


def swept(station, datum, moved_um, u_um=3.0):
    return Swept(station, datum, moved_um, np.diag([u_um**2, u_um**2]))


def plainly(prior, sweeps):
    """The chance of each station by the density of all sweeps under each combination."""
    count, chance = len(prior.chance), prior.chance
    design = np.zeros((2 * len(sweeps), 2 * count))
    for row, sweep in enumerate(sweeps):
        for index, sign in ((sweep.station, 1), (sweep.datum, -1)):
            design[2 * row : 2 * row + 2, 2 * index : 2 * index + 2] = sign * np.eye(2)
    told = np.concatenate([sweep.moved_um for sweep in sweeps])
    noise = np.kron(np.eye(len(sweeps)), sweeps[0].covariance_um2)
    weights, combinations = [], np.array(list(product((0, 1), repeat=count)))
    for moved in combinations:
        spread = np.kron(np.diag(moved), prior.covariance_um2[0])
        density = multivariate_normal(cov=design @ spread @ design.T + noise).pdf(told)
        weights.append(density * np.prod(np.where(moved, chance, 1 - chance)))
    return np.array(weights) @ combinations / np.sum(weights)


def test_the_chances_are_those_of_the_plain_sum_over_all_combinations():
    prior = prior_of(0.05, 0.6, 0.2, 0.3)
    sweeps = [swept(*link) for link in LINKS]
    assert believe(prior, sweeps).chance == pytest.approx(plainly(prior, sweeps), abs=2e-6)


def test_a_housing_that_moved_alone_explains_both_of_its_links():
    found = believe(prior_of(0.05, 0.3, 0.3), [swept(1, 0, (40, 0)), swept(2, 1, (-40, 0))])
    assert found.chance[1] > 0.95 > 0.1 > found.chance[2]
    assert found.likely_move_um(1) == pytest.approx((40, 0), abs=2)


def test_two_pushed_over_together_are_not_taken_for_the_headstock():
    """The housing reads off from the headstock, the sub-spindle true from the housing."""
    prior = crash_prior([BESIDE, HIT, BESIDE], HARD, master=0, datums=(None, 0, 1))
    found = believe(prior, [swept(1, 0, (40, 0)), swept(2, 1, (0, 0))])
    assert found.chance[1] > 0.65
    assert found.chance[2] > 0.5
    assert found.chance[0] < 0.3
    assert found.likely_move_um(2) == pytest.approx((40, 0), abs=3)


def test_pairs_fill_what_room_the_stations_leave():
    datums = (None, *range(11))
    prior = crash_prior([HIT] * 12, HARD, master=0, datums=datums)
    assert prior.carries.shape == (12, 12)
    assert crash_prior([HIT] * 5, HARD, master=0, datums=datums[:5]).carries.shape == (8, 5)


def test_a_chance_of_nought_stays_nought_and_of_one_stays_one():
    found = believe(prior_of(0.0, 0.5, 1.0), [swept(1, 0, (40, 0)), swept(2, 1, (0, 0))])
    assert (found.chance[0], found.chance[2]) == (0.0, 1.0)
    assert np.isfinite(found.mean_um).all()


def test_one_station_alone_keeps_its_chance():
    assert believe(prior_of(0.3)).chance == pytest.approx([0.3], abs=1e-6)


@pytest.mark.parametrize(
    ("prior", "sweeps", "says"),
    [
        (prior_of(*[0.1] * 13), [], "1 to 12 stations"),
        (prior_of(), [], "1 to 12 stations"),
        (prior_of(1.2), [], "between 0 and 1"),
        (prior_of(np.nan), [], "between 0 and 1"),
        (prior_of(0.1, 0.1), [swept(1, 1, (0, 0))], "from another"),
        (prior_of(0.1, 0.1), [swept(2, 0, (0, 0))], "of the machine"),
        (prior_of(0.1, 0.1), [swept(1, 0, (np.nan, 0))], "finite"),
        (prior_of(0.1, 0.1), [swept(1, 0, (0, 0), np.inf)], "finite"),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(prior, sweeps, says):
    with pytest.raises(ValueError, match=says):
        believe(prior, sweeps)


def test_without_cases_the_table_speaks_and_the_master_datum_is_least_likely():
    prior = crash_prior([BESIDE, HIT, ELSEWHERE], HARD, master=0)
    assert prior.chance[1:] == pytest.approx([CHANCES[HIT, HARD], CHANCES[ELSEWHERE, HARD]])
    assert prior.chance[0] < prior.chance[2]


@pytest.mark.parametrize("share", [0.0, 0.2, 0.9])
def test_a_firms_own_cases_take_over_from_the_table(share):
    cases = [Case(HIT, HARD, n < 1000 * share, 15.0) for n in range(1000)]
    prior = crash_prior([HIT], HARD, cases=cases)
    assert prior.chance[0] == pytest.approx(share, abs=0.01)
    if share:
        assert np.sqrt(prior.covariance_um2[0, 0, 0] * 2) == pytest.approx(15, abs=8)
    else:
        assert prior.covariance_um2[0, 0, 0] == pytest.approx(SCALES_UM[HARD] ** 2)


def test_what_was_hit_moves_farther_along_the_way_it_was_pushed():
    spread = crash_prior([HIT, BESIDE], HARD, push=(1.0, 0.0)).covariance_um2
    assert spread[0, 0, 0] > spread[1, 0, 0] > spread[0, 1, 1]
    assert np.trace(spread[0]) == pytest.approx(np.trace(spread[1]), rel=0.01)


@pytest.mark.parametrize(("place", "hardness"), [("above", HARD), (HIT, "gently")])
def test_a_crash_that_is_not_in_the_table_is_refused(place, hardness):
    with pytest.raises(ValueError, match="table"):
        crash_prior([place], hardness)


def offered(key, station, datum, minutes=10.0, allowed_um=10.0):
    return Offered(key, station, datum, 4 * np.eye(2), minutes, allowed_um)


def test_what_nobody_doubts_is_swept_last_and_left():
    belief = believe(prior_of(0.001, 0.5, 0.001))
    first, last = worth_of_sweeps(belief, [offered("sure", 2, 0), offered("doubtful", 1, 0)])
    assert (first.sweep.key, last.sweep.key) == ("doubtful", "sure")
    assert first.is_wanted
    assert not last.is_wanted


def test_of_two_that_tell_as_much_the_shorter_comes_first():
    belief = believe(prior_of(0.01, 0.4, 0.4))
    sweeps = [offered("long", 1, 0, minutes=30), offered("short", 2, 0)]
    assert worth_of_sweeps(belief, sweeps)[0].sweep.key == "short"


@pytest.mark.parametrize(("chance", "bits"), [(1.0, np.log2(1 + 400 / 4)), (0.0, 0.0)])
def test_of_a_move_that_is_sure_a_sweep_tells_its_size_and_of_none_nothing(chance, bits):
    """Two directions of ±20 µm read to ±2 µm: the logarithm of the ratio, in closed form."""
    (worth,) = worth_of_sweeps(believe(prior_of(0.0, chance)), [offered("it", 1, 0)])
    assert worth.bits == pytest.approx(bits, abs=0.05)


def test_a_line_without_a_limit_is_never_left_for_being_within():
    belief = believe(prior_of(0.001, 0.001))
    (worth,) = worth_of_sweeps(belief, [offered("it", 1, 0, allowed_um=None)])
    assert worth.outside is None
    assert worth.is_wanted


@pytest.mark.parametrize("minutes", [0, -1, np.nan])
def test_a_sweep_takes_some_time(minutes):
    with pytest.raises(ValueError, match="minutes"):
        worth_of_sweeps(believe(prior_of(0.1, 0.1)), [offered("it", 1, 0, minutes=minutes)])


@pytest.fixture(scope="module")
def beliefs():
    """Chances before and after some sweeps of simulated crashes, and what moved in truth."""
    rng = np.random.default_rng(24)
    told = []
    for _ in range(1500):
        crash = crashes.as_assumed(rng)
        which = rng.permutation([1, 2, 3, 4])[: rng.integers(1, 5)]
        done = [crashes.sweep(rng, crash, int(station)) for station in which]
        told.append((crash.prior.moved, believe(crash.prior, done).chance, crash.moved))
    return [np.concatenate(part) for part in zip(*told, strict=True)]


@pytest.mark.parametrize("middle", [0.1, 0.3, 0.5, 0.7, 0.9])
def test_of_what_is_called_so_likely_as_many_moved(beliefs, middle):
    """Of what is called 70 %, 65 to 75 % moved, but for the error of so many cases."""
    _, chance, moved = beliefs
    alike = np.abs(chance - middle) < 0.08
    error = np.sqrt(middle * (1 - middle) / alike.sum())
    assert moved[alike].mean() == pytest.approx(chance[alike].mean(), abs=0.05 + error)


def test_sweeps_halve_the_brier_score_of_the_fixed_prior(beliefs):
    before, after, moved = beliefs
    assert np.mean((after - moved) ** 2) < 0.6 * np.mean((before - moved) ** 2)


def jobs_of(world, count=80):
    rng = np.random.default_rng(7)
    drawn = [world(rng) for _ in range(count)]
    return [crashes.obey(rng, crash) for crash in drawn], drawn


def test_whoever_obeys_sweeps_less_than_the_fixed_order_and_misses_what_was_foretold():
    jobs, drawn = jobs_of(crashes.as_assumed)
    lines = crashes.in_order(drawn[0]).sweeps
    assert np.mean([job.sweeps for job in jobs]) < 0.7 * lines
    left = sum(lines - job.sweeps for job in jobs)
    assert sum(job.missed for job in jobs) <= 0.05 * left + 3 * np.sqrt(0.05 * left)


@pytest.mark.parametrize("world", [crashes.two_together, crashes.two_elsewhere, crashes.lean_only])
def test_a_world_that_breaks_the_assumptions_costs_no_more_sweeps_than_the_fixed_order(world):
    jobs, drawn = jobs_of(world)
    assert max(job.sweeps for job in jobs) <= crashes.in_order(drawn[0]).sweeps


def test_where_nothing_moved_sweeping_stops_early():
    jobs, drawn = jobs_of(crashes.nothing_moved)
    assert np.mean([job.sweeps for job in jobs]) < 0.65 * crashes.in_order(drawn[0]).sweeps
