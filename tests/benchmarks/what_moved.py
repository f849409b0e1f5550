"""Count the sweeps that find what a crash moved, and write them into DEVELOPERS.md.

Run with ``python -m tests.benchmarks.what_moved``. A contractor who obeys the page is held against
the fixed order, which sweeps every line, on crashes of which the truth is known; intervals are of a
bootstrap over the jobs. The time is held against the same linear algebra in bare numpy.
"""

import sys
import time

import numpy as np

from alignment.geometry.moved.belief import Swept, believe
from alignment.geometry.moved.prior import ELSEWHERE, HARD, HIT, crash_prior
from tests.marks import put
from tests.simulated import crashes

JOBS, AGAIN, MOST_MS = 2000, 2000, 50
WORLDS = {
    "as assumed": crashes.as_assumed,
    "nothing moved": crashes.nothing_moved,
    "housing and sub-spindle together": crashes.two_together,
    "the same, and the gang slide told as hit": crashes.two_elsewhere,
    "a lean only": crashes.lean_only,
}


def jobs_in(world, seed):
    """(sweeps, missed, out) of each job, (JOBS, 3)."""
    rng = np.random.default_rng(seed)
    rows = []
    for _ in range(JOBS):
        crash = world(rng)
        job = crashes.obey(rng, crash)
        out = sum(crashes.is_out(crash, at) for at in range(1, len(crashes.DATUMS)))
        rows.append((job.sweeps, job.missed, out))
    return np.array(rows)


def sweeps_table():
    """Sweeps a job against the fixed order, as Markdown."""
    yield "| machines | lines out | sweeps a job | × fixed order, 95 % | median × | out and left |"
    yield "|---|---|---|---|---|---|"
    lines = len(crashes.DATUMS) - 1
    for seed, (words, world) in enumerate(WORLDS.items()):
        rows = jobs_in(world, seed)
        rng = np.random.default_rng(99)
        drawn = rows[rng.integers(0, JOBS, (AGAIN, JOBS)), 0].mean(axis=1) / lines
        low, high = np.quantile(drawn, [0.025, 0.975])
        mean = rows[:, 0].mean()
        cells = [
            words,
            f"{rows[:, 2].sum():,}",
            f"{mean:.2f} of {lines}",
            f"{mean / lines:.2f} ({low:.2f} to {high:.2f})",
            f"{np.median(rows[:, 0]) / lines:.2f}",
            f"{rows[:, 1].sum():,}",
        ]
        yield f"| {' | '.join(cells)} |"


def best_ms(work, times=15):
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(1e3 * (time.process_time() - start))
    return min(taken)


def speed():
    """One line: ten stations and forty sweeps against bare numpy."""
    rng = np.random.default_rng(0)
    prior = crash_prior([ELSEWHERE, HIT, *[ELSEWHERE] * 8], HARD, master=0)
    pairs = [rng.permutation(10)[:2] for _ in range(40)]
    sweeps = [Swept(int(a), int(b), tuple(rng.normal(0, 3, 2)), 4 * np.eye(2)) for a, b in pairs]
    system = np.eye(20) + np.zeros((1024, 1, 1))

    def floor():
        root = np.linalg.cholesky(system)
        np.linalg.solve(root, np.ones((1024, 20, 1)))

    ours, bare = best_ms(lambda: believe(prior, sweeps)), best_ms(floor)
    mark = "" if ours <= MOST_MS else " *"
    return (
        f"Ten stations and forty sweeps, all 1,024 combinations: {ours:.0f} ms{mark} of processor "
        f"time (aim: {MOST_MS}), a bare numpy Cholesky and solve of as many systems {bare:.0f} ms, "
        f"ratio {ours / bare:.1f}."
    )


if __name__ == "__main__":
    told = [f"{JOBS:,} jobs each.", "", *sweeps_table(), "", speed()]
    put("what moved", told)
    sys.stdout.write("\n".join(told) + "\n")
