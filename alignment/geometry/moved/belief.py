"""Which stations moved, given sweeps: all combinations enumerated, each one normal within.

A sweep tells the difference of the moves of two stations. For one combination of moved stations
the moves are normal a priori, so the chance of the sweeps under it, and the moves given them, have
closed forms; in information form all sweeps together are one matrix, however many they are.
Source: Bayesian linear regression with a choice of variables, as in any text on the subject.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from alignment.geometry.drift.outside import outside_circle

from .prior import MOST_MOVES, Prior

_KEPT_WEIGHT = 1 - 1e-6  # of all combinations; the rest changes no figure that is shown


@dataclass(frozen=True, eq=False)
class Swept:
    """By how much ``station`` stands elsewhere from ``datum`` than before the crash, as indices.

    ``moved_um`` (front, up); ``covariance_um2`` (2, 2), of both sweeps and what wear did between.
    """

    station: int
    datum: int
    moved_um: tuple[float, float]
    covariance_um2: np.ndarray


@dataclass(frozen=True, eq=False)
class Belief:
    """``weight`` (k,) of the combinations that matter, heaviest first, each with the stations
    ``moved`` (k, n) in it; within each, the stations' moves: ``mean_um`` (k, n, 2) and
    ``covariance_um2`` (k, 2n, 2n)."""

    weight: np.ndarray
    moved: np.ndarray
    mean_um: np.ndarray
    covariance_um2: np.ndarray

    @cached_property
    def chance(self) -> np.ndarray:
        """(n,) chance of each station that it moved."""
        return self.weight @ self.moved

    def likely_move_um(self, station: int) -> np.ndarray:
        """(front, up) a station moved, on average over the combinations in which it did."""
        share = self.weight * self.moved[:, station]
        return share @ self.mean_um[:, station] / max(share.sum(), 1e-300)

    def difference_um(self, station: int, datum: int) -> tuple[np.ndarray, np.ndarray]:
        """What a sweep of one from the other would tell: mean (k, 2) and covariance (k, 2, 2)."""
        mean = self.mean_um[:, station] - self.mean_um[:, datum]
        one, other = slice(2 * station, 2 * station + 2), slice(2 * datum, 2 * datum + 2)
        covariance = self.covariance_um2
        crossed = covariance[:, one, other]
        spread = covariance[:, one, one] + covariance[:, other, other]
        return mean, spread - crossed - crossed.transpose(0, 2, 1)

    def outside(self, station: int, datum: int, allowed_um: float, *, before_um=(0.0, 0.0)):
        """Chance that one stands farther from the other than ``allowed_um``; ``before_um``:
        (front, up) where it stood before."""
        mean, spread = self.difference_um(station, datum)
        radius = np.full(len(mean), float(allowed_um))
        return float(self.weight @ outside_circle(mean + np.asarray(before_um), spread, radius))


def believe(prior: Prior, sweeps: Iterable[Swept] = ()) -> Belief:
    """The belief after some sweeps of a machine with n stations, in any order and number.

    Raises ValueError for no move or more than 12, for chances that are none, a sweep of a
    station from itself or of one that is not there, and figures that are not finite.
    """
    chance, sweeps = np.asarray(prior.chance, float), tuple(sweeps)
    count = prior.carries.shape[1]
    _check(chance, count, sweeps)
    moved = _combinations(len(chance))
    root = _on_diagonal(np.linalg.cholesky(np.asarray(prior.covariance_um2, float)))
    scale = np.kron(prior.carries.T, np.eye(2)) @ root
    information, pull = _information(count, sweeps)
    information, pull = scale.T @ information @ scale, scale.T @ pull
    free = np.repeat(moved, 2, axis=1).astype(float)
    system = free[:, :, None] * information * free[:, None, :]
    system[:, *np.diag_indices(len(pull))] += 1.0
    root = np.linalg.cholesky(system)
    log_det = np.log(np.diagonal(root, axis1=1, axis2=2)).sum(axis=1)
    solved = np.linalg.solve(root, (free * pull)[:, :, None])[:, :, 0]
    log_weight = _log_prior(chance, moved) - log_det + (solved**2).sum(axis=1) / 2
    weight = np.exp(log_weight - log_weight.max())
    kept = _heaviest(weight / weight.sum())
    inverse = np.linalg.inv(system[kept])
    mean = (inverse @ (free[kept] * pull)[:, :, None])[:, :, 0] * free[kept]
    inverse *= free[kept, :, None] * free[kept, None, :]
    return Belief(
        weight=weight[kept] / weight[kept].sum(),
        moved=moved[kept] @ prior.carries,
        mean_um=(mean @ scale.T).reshape(len(kept), -1, 2),
        covariance_um2=scale @ inverse @ scale.T,
    )


def _check(chance: np.ndarray, count: int, sweeps: Sequence[Swept]) -> None:
    if not 0 < len(chance) <= MOST_MOVES:
        raise ValueError(f"Expected 1 to {MOST_MOVES} stations, there are {len(chance)}.")
    if not ((chance >= 0) & (chance <= 1)).all():
        raise ValueError("A chance that a station moved lies between 0 and 1.")
    for sweep in sweeps:
        if sweep.station == sweep.datum or not {sweep.station, sweep.datum} <= set(range(count)):
            raise ValueError("A sweep is of one station of the machine from another one.")
        if not (np.isfinite(sweep.moved_um).all() and np.isfinite(sweep.covariance_um2).all()):
            raise ValueError("What a sweep tells, and its covariance, must be finite.")


@cache
def _combinations(count: int) -> np.ndarray:
    """(2**count, count) of whether each move happened."""
    return (np.arange(2**count)[:, None] >> np.arange(count)) % 2 == 1


def _on_diagonal(blocks: np.ndarray) -> np.ndarray:
    """(2n, 2n) with n blocks (2, 2) on its diagonal."""
    whole = np.zeros((2 * len(blocks), 2 * len(blocks)))
    for index, block in enumerate(blocks):
        whole[2 * index : 2 * index + 2, 2 * index : 2 * index + 2] = block
    return whole


def _information(count: int, sweeps: Sequence[Swept]) -> tuple[np.ndarray, np.ndarray]:
    """What all sweeps tell together: (2n, 2n), and its product with the moves (2n,)."""
    information, pull = np.zeros((count, 2, count, 2)), np.zeros((count, 2))
    for sweep in sweeps:
        precision = np.linalg.inv(sweep.covariance_um2)
        told = precision @ np.asarray(sweep.moved_um, float)
        one, other = sweep.station, sweep.datum
        information[one, :, one] += precision
        information[other, :, other] += precision
        information[one, :, other] -= precision
        information[other, :, one] -= precision
        pull[one] += told
        pull[other] -= told
    return information.reshape(2 * count, 2 * count), pull.ravel()


def _log_prior(chance: np.ndarray, moved: np.ndarray) -> np.ndarray:
    """Of each combination; a station that cannot have moved, or must have, leaves no other."""
    with np.errstate(divide="ignore"):
        return np.where(moved, np.log(chance), np.log1p(-chance)).sum(axis=1)


def _heaviest(weight: np.ndarray) -> np.ndarray:
    """The fewest combinations that together are as good as all, heaviest first."""
    order = np.argsort(weight)[::-1]
    return order[: int(np.searchsorted(np.cumsum(weight[order]), _KEPT_WEIGHT)) + 1]
