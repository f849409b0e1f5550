"""Which sweep is expected to tell most for its minutes, and when to stop sweeping.

What a sweep tells is the information it is expected to give on which stations moved and how far
(Lindley 1956, from memory: the mutual information of a result and what is asked), over its minutes.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from machines.engineering.inputs import positive

from .belief import Belief

LEFT_OUT = 0.05  # the chance to be out below which a sweep is left
_DRAWS = 96  # results tried for each way the ends can have moved
_SELDOM = 1e-9  # a way that changes no figure that is shown


@dataclass(frozen=True, eq=False)
class Offered:
    """A sweep that could be made: of ``station`` from ``datum`` (indices), known by ``key``.

    ``covariance_um2`` (2, 2) of what it will tell; ``allowed_um``: how far off it may be, None
    without a limit; ``before_um``: (front, up) where it stood before; ``minutes``: to set up.
    """

    key: Hashable
    station: int
    datum: int
    covariance_um2: np.ndarray
    minutes: float
    allowed_um: float | None = None
    before_um: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Worth:
    """What one sweep is worth: ``bits`` it is expected to tell of what moved and how far, and the
    chance that it finds its line ``outside``, None without a limit."""

    sweep: Offered
    bits: float
    outside: float | None

    @property
    def bits_a_minute(self) -> float:
        return self.bits / self.sweep.minutes

    @property
    def is_wanted(self) -> bool:
        """Whether leaving it would leave something likelier than 5 % to be out."""
        return self.outside is None or self.outside > LEFT_OUT


def worth_of_sweeps(belief: Belief, offered: Sequence[Offered]) -> list[Worth]:
    """Each sweep's `Worth`, the one to make first in front: those that are wanted, by what they
    tell a minute, and of equals the one likelier to be out. Raises ValueError for minutes that are
    not positive."""
    for sweep in offered:
        positive(sweep.minutes, "the minutes of a sweep")
    worths = [Worth(sweep, _bits(belief, sweep), _outside(belief, sweep)) for sweep in offered]
    return sorted(worths, key=lambda worth: (not worth.is_wanted, -worth.bits_a_minute))


def _outside(belief: Belief, sweep: Offered) -> float | None:
    if sweep.allowed_um is None:
        return None
    return belief.outside(sweep.station, sweep.datum, sweep.allowed_um, before_um=sweep.before_um)


def _bits(belief: Belief, sweep: Offered) -> float:
    """Mutual information of the result and the moves: the entropy of the result less that of the
    error it is made with."""
    weight, mean, spread = _by_ends(belief, sweep)
    root = np.linalg.cholesky(spread)
    results = mean[:, None] + np.einsum("kij,dj->kdi", root, _NORMAL)
    away = results[:, :, None] - mean
    first = away[..., 0] / root[:, 0, 0]
    second = (away[..., 1] - root[:, 1, 0] * first) / root[:, 1, 1]
    density = np.exp(-(first**2 + second**2) / 2) / (root[:, 0, 0] * root[:, 1, 1])
    of_result = -weight @ np.log(np.maximum(density @ weight, 1e-300)).mean(axis=1)
    of_error = 1 + np.log(np.linalg.det(sweep.covariance_um2)) / 2
    return max(float(of_result - of_error) / np.log(2), 0.0)


def _by_ends(belief: Belief, sweep: Offered):
    """Weight (g,), mean (g, 2) and covariance (g, 2, 2) of the result where neither end moved,
    one, the other, or both: each as one normal with the moments of its combinations."""
    mean, spread = belief.difference_um(sweep.station, sweep.datum)
    group = belief.moved[:, sweep.station] + 2 * belief.moved[:, sweep.datum]
    shares = belief.weight * (group == np.arange(4)[:, None])
    shares = shares[shares.sum(axis=1) > _SELDOM]
    weight = shares.sum(axis=1)
    shares /= weight[:, None]
    middle = shares @ mean
    square = spread + mean[:, :, None] * mean[:, None, :]
    within = np.einsum("gk,kij->gij", shares, square) - middle[:, :, None] * middle[:, None, :]
    return weight / weight.sum(), middle, within + sweep.covariance_um2


def _spread_out() -> np.ndarray:
    """(draws, 2) points that stand for two independent normal figures: a rank-1 lattice."""
    steps = np.arange(_DRAWS) + 0.5
    shares = np.stack([steps * 0.7548776662466927, steps * 0.5698402909980532], axis=1) % 1
    return np.vectorize(NormalDist().inv_cdf)(shares)


_NORMAL = _spread_out()
