"""Simulated machines whose true drift is known, for the tests of coverage."""

from dataclasses import dataclass

import numpy as np

from alignment.geometry.drift.first_passage import first_crossing
from alignment.geometry.drift.intervals import Intervals, make_intervals
from alignment.geometry.drift.outside import outside_circle, outside_limits
from alignment.geometry.drift.pooling import lend

U_UM = 1.0
STEP_UM = 20.0


@dataclass(frozen=True)
class Fleet:
    """``rate_um`` (S, c) and ``walk_um2`` are the truth behind ``intervals``."""

    intervals: Intervals
    rate_um: np.ndarray
    walk_um2: float
    position_um: np.ndarray
    measured_um: np.ndarray


def fleet(visits, *, machines=5000, parts=2, walk_ratio=1.0, incident=None, share=0.0, seed=0):
    """Machines measured to 1 µm at ``visits`` uneven visits, 0.3 to 1.7 years apart.

    They wear at 0 ± 3 µm a year. ``walk_ratio``: variance walked in a year over that of the two
    measurements of an interval. ``incident``: (S, n) or the place of an interval, where a knock
    of 20 µm happened. ``share``: how often nothing was adjusted at a visit.
    """
    rng = np.random.default_rng(seed)
    n, walk = visits - 1, 2 * U_UM**2 * walk_ratio
    shape = (machines, n, parts)
    elapsed = rng.uniform(0.3, 1.7, (machines, n))
    rate = rng.normal(0, 3, (machines, parts))
    left, found = U_UM * rng.normal(size=(2, *shape))
    shares = rng.random((machines, n)) < share
    shares[:, 0] = False
    for i in range(1, n):
        left[:, i] = np.where(shares[:, i, None], found[:, i - 1], left[:, i])
    change = rate[:, None] * elapsed[..., None] + found - left
    change += np.sqrt(walk * elapsed)[..., None] * rng.normal(size=shape)
    knocked = np.zeros((machines, n), bool)
    if incident is not None:
        knocked = incident if np.ndim(incident) else np.arange(n)[None] == incident + 0 * shares
    change[knocked] += STEP_UM
    position = rng.uniform(-3, 3, (machines, parts))
    measured = position + U_UM * rng.normal(size=position.shape)
    intervals = make_intervals(elapsed, change, U_UM**2, U_UM**2, knocked, shares)
    return Fleet(intervals, rate, walk, position, measured)


def true_date(machines, reach_um, risk, horizon):
    """When each machine's chance of being outside passes ``risk``, its drift being known."""
    rate, position, walk = machines.rate_um, machines.position_um, machines.walk_um2

    def chance(which, time):
        mean = position[which] + rate[which] * time[:, None]
        if mean.shape[1] == 2:
            return outside_circle(mean, walk * time, reach_um)
        return outside_limits(mean[:, 0], walk * time, -reach_um, reach_um)

    return first_crossing(chance, risk, np.ones(len(rate)), horizon)


def covered(low, truth, high):
    """Share of intervals that hold the truth."""
    return np.mean((low <= truth) & (truth <= high))


def borrow(intervals, groups):
    """Every series fitted, each borrowing from the others of its group."""
    everybody = np.arange(intervals.series)
    return lend(intervals, groups, np.ones(intervals.series, bool), everybody).to(intervals)
