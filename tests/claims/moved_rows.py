"""What is claimed after a crash: how likely a station moved, and what is left by not sweeping."""

import numpy as np

from alignment.geometry.moved.belief import believe
from tests.claims.claim import Case, Row
from tests.simulated import crashes

KEY = "what moved"


def moved_of(low, high):
    """Whether a station moved of which the chance lies between two; told of each one."""

    def one(rng):
        crash = crashes.as_assumed(rng)
        which = rng.permutation([1, 2, 3, 4])[: rng.integers(0, 5)]
        belief = believe(crash.prior, [crashes.sweep(rng, crash, int(at)) for at in which])
        told = (belief.chance >= low) & (belief.chance <= high)
        return np.where(told, crash.moved, np.nan)

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


def left_out(world):
    """The share of lines out of limits among those left when sweeping stops; NaN of none."""

    def one(rng):
        job = crashes.obey(rng, world(rng))
        left = len(crashes.DATUMS) - 1 - job.sweeps
        return [job.missed / left if left else np.nan] * 2

    return lambda rng, runs: np.array([one(rng) for _ in range(runs)])


ROWS = (
    Row(
        KEY,
        "stations called 65 to 75 % likely that moved",
        "70 %",
        0.65,
        0.75,
        (Case("none to all of four lines swept", moved_of(0.65, 0.75)),),
        runs=20000,
        short=1500,
    ),
    Row(
        KEY,
        "lines left unswept that are out",
        "at most 5 %",
        0.0,
        0.05,
        (
            Case("as assumed", left_out(crashes.as_assumed)),
            Case("nothing moved", left_out(crashes.nothing_moved)),
        ),
        runs=1000,
        short=100,
    ),
    Row(
        KEY,
        "lines left unswept that are out",
        "at most 5 %",
        0.0,
        0.98,
        (
            Case("housing hit, the sub-spindle along", left_out(crashes.two_together)),
            Case("a lean only", left_out(crashes.lean_only)),
            Case("sub-spindle along, another told as hit", left_out(crashes.two_elsewhere)),
        ),
        runs=1000,
        short=100,
        broken=True,
        caution="look like a headstock that moved",
    ),
)
