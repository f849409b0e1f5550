"""Crashes drawn at machines of which the truth is known, and sweeps of what they moved."""

from dataclasses import dataclass

import numpy as np

from alignment.geometry.moved.belief import Swept, believe
from alignment.geometry.moved.next_sweep import Offered, worth_of_sweeps
from alignment.geometry.moved.prior import BESIDE, ELSEWHERE, HARD, HIT, KNOCK, TOUCH, crash_prior

# Headstock, housing, sub-spindle, back tools, gang slide: each with its datum.
DATUMS = (None, 0, 1, 2, 1)
ALLOWED_UM = 10.0
U_UM = 2.0  # of a difference, both sweeps and wear
MINUTES = (10.0, 15.0, 12.0, 12.0, 12.0)
COVARIANCE = U_UM**2 * np.eye(2)


@dataclass(frozen=True)
class Crash:
    """What is told of a crash, as a prior, and by how much each station moved in truth."""

    prior: object
    moves_um: np.ndarray

    @property
    def moved(self):
        return np.any(self.moves_um != 0, axis=1)


def told_prior(rng, hit=None):
    """A station hit, however hard; any but the headstock unless it is given."""
    hit = int(rng.integers(1, len(DATUMS))) if hit is None else hit
    beside = {DATUMS[hit]} | {i for i, datum in enumerate(DATUMS) if datum == hit}
    places = [HIT if i == hit else BESIDE if i in beside else ELSEWHERE for i in range(len(DATUMS))]
    return crash_prior(places, str(rng.choice([TOUCH, KNOCK, HARD])), master=0, datums=DATUMS)


def as_assumed(rng):
    """Each station moves, alone or along with another, as often and as far as the prior says."""
    prior = told_prior(rng)
    happened = rng.random(len(prior.chance)) < prior.chance
    root = np.linalg.cholesky(prior.covariance_um2)
    moves = np.einsum("vij,vj->vi", root, rng.normal(size=(len(prior.chance), 2)))
    return Crash(prior, prior.carries.T @ (moves * happened[:, None]))


def two_together(rng):
    """The housing is hit and moves, and takes the sub-spindle along by the same way."""
    moves = np.zeros((len(DATUMS), 2))
    moves[1] = moves[2] = rng.normal(0, 30, 2)
    return Crash(told_prior(rng, hit=1), moves)


def two_elsewhere(rng):
    """The gang slide is hit, and housing and sub-spindle move together, of which nobody told."""
    moves = np.zeros((len(DATUMS), 2))
    moves[1] = moves[2] = rng.normal(0, 30, 2)
    return Crash(told_prior(rng, hit=4), moves)


def lean_only(rng):
    """The housing is hit and leans: it reads true itself, what is measured from it does not."""
    moves = np.zeros((len(DATUMS), 2))
    moves[2] = moves[4] = rng.normal(0, 15, 2)
    return Crash(told_prior(rng, hit=1), moves)


def nothing_moved(rng):
    return Crash(told_prior(rng), np.zeros((len(DATUMS), 2)))


def sweep(rng, crash, station):
    datum = DATUMS[station]
    error = rng.normal(0, U_UM, 2)
    moved = crash.moves_um[station] - crash.moves_um[datum] + error
    return Swept(station, datum, tuple(moved), COVARIANCE)


def offered(stations):
    return [Offered(i, i, DATUMS[i], COVARIANCE, MINUTES[i], ALLOWED_UM) for i in stations]


@dataclass(frozen=True)
class Job:
    """``sweeps`` made; ``missed``: lines out of limits that were never swept."""

    sweeps: int
    missed: int


def obey(rng, crash):
    """The contractor sweeps what tells most until nothing left is likelier than 5 % to be out."""
    left, done = set(range(1, len(DATUMS))), []
    while left:
        best = worth_of_sweeps(believe(crash.prior, done), offered(sorted(left)))[0]
        if not best.is_wanted:
            break
        left.remove(best.sweep.key)
        done.append(sweep(rng, crash, best.sweep.key))
    return Job(len(done), sum(is_out(crash, station) for station in left))


def in_order(crash):
    """The fixed order: every line, whatever is found."""
    return Job(len(DATUMS) - 1, 0)


def is_out(crash, station):
    off = crash.moves_um[station] - crash.moves_um[DATUMS[station]]
    return bool(np.hypot(*off) > ALLOWED_UM)
