"""What is believed about a machine's drift: a few weighted cases instead of one figure.

How far an axis wanders is badly known from a handful of visits, and a forecast that took the best
estimate for the truth would promise too much. So the walk is carried as a handful of cases with
weights; given the walk, the rate is normal. The weighted cases together are a Student's t.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy import special

CASES = 6
_BATCH = 8192
_MOST_DOF = 200  # beyond this the cases hardly move


@dataclass(frozen=True)
class Belief:
    """For S series, K cases each, c parts.

    ``weight`` (S, K), summing to 1; ``walk_um2`` (S, K), random walk variance for each part in
    µm² per unit of time; ``rate_um`` (S, K, c) and ``rate_cov_um2`` (S, K, c, c), mean and
    covariance of the rate per unit of time; ``scale`` (S, K), factor that the scatter puts on the
    stated measurement covariance (1 as soon as there is a walk); ``known`` (S,), False when
    nothing is known: the numbers of such a series are NaN.
    """

    weight: np.ndarray
    walk_um2: np.ndarray
    rate_um: np.ndarray
    rate_cov_um2: np.ndarray
    scale: np.ndarray
    known: np.ndarray

    def take(self, which) -> Belief:
        """The series picked by an index array or mask."""
        return Belief(*(getattr(self, name)[which] for name in self.__dataclass_fields__))


def chi_squared_cases(dof: np.ndarray):
    """Weighted values standing for a chi-squared figure with ``dof`` (S,) degrees of freedom.

    Returns values (K, S), the largest first, and weights (K, S). The mixture they make agrees
    with Student's t to 0.5 % at its 95 % ends from two degrees of freedom on; for a single one,
    whose tail is endless, it stops 14 % short. For a fraction the rule of the whole number below
    is stretched, which errs to caution.
    """
    whole = np.clip(np.floor(np.nan_to_num(dof, posinf=_MOST_DOF)), 1, _MOST_DOF).astype(int)
    table = np.zeros((whole.max(initial=1) + 1, 2, CASES))
    for count in np.unique(whole):
        table[count] = _gauss_rule(int(count))
    picked = table[whole]
    return picked[:, 0].T * np.where(np.isfinite(dof), dof, whole) / whole, picked[:, 1].T


@cache
def _legendre():
    """Nodes and weights of the fine rule that stands for the integral; dear to work out."""
    return special.roots_legendre(400)


@cache
def _gauss_rule(dof):
    """Gauss rule in the chi variable, by the Stieltjes procedure (Golub and Welsch 1969)."""
    highest = np.sqrt(special.chdtri(dof, 1e-15))
    x, weight = _legendre()
    x = (x + 1) / 2 * highest
    density = (dof - 1) * np.log(x) - x**2 / 2  # of a chi figure, but for a constant
    weight = weight * np.exp(density - density.max())
    weight /= weight.sum()
    before, now, beside = np.zeros_like(x), np.ones_like(x), 0.0
    diagonal, off_diagonal = [], []
    for _ in range(CASES):
        centre = (weight * x * now**2).sum()
        after = (x - centre) * now - beside * before
        beside = np.sqrt((weight * after**2).sum())
        diagonal.append(centre)
        off_diagonal.append(beside)
        before, now = now, after / beside
    off = np.diag(off_diagonal[:-1], 1)
    values, vectors = np.linalg.eigh(np.diag(diagonal) + off + off.T)
    return np.stack([values[::-1] ** 2, vectors[0, ::-1] ** 2])


def quantiles_of_cases(weight, centre, deviation, probability: float) -> np.ndarray:
    """Quantile (M,) of a mixture of normals with K weighted cases, each array (M, K).

    A row with a NaN in it gives NaN. Good to 1e-4 of a standard deviation.
    """
    answer = np.full(len(centre), np.nan)
    for first in range(0, len(centre), _BATCH):
        piece = slice(first, first + _BATCH)
        cases = [np.ascontiguousarray(a[piece].T) for a in (weight, centre, deviation)]
        fine = np.isfinite(cases[1]).all(axis=0) & np.isfinite(cases[2]).all(axis=0)
        if fine.any():
            cases = cases if fine.all() else [np.ascontiguousarray(a[:, fine]) for a in cases]
            answer[piece][fine] = _mixture_quantile(*cases, special.ndtri(probability))
    return answer


def _mixture_quantile(weight, centre, deviation, score):
    """Newton's method on normal scores, within the quantiles of the single cases."""
    deviation = np.maximum(deviation, 1e-150)
    ends = centre + score * deviation
    low, high = ends.min(axis=0), ends.max(axis=0)
    x = np.clip(_first_guess(weight, centre, deviation, score), low, high)
    for _ in range(60):
        away = (x - centre) / deviation
        here = special.ndtri(np.clip((weight * special.ndtr(away)).sum(axis=0), 1e-15, 1 - 1e-15))
        low, high = np.where(here < score, x, low), np.where(here > score, x, high)
        slope = (weight * np.exp(-(away**2) / 2) / deviation).sum(axis=0)
        ahead = x + (score - here) * np.exp(-(here**2) / 2) / np.maximum(slope, 1e-300)
        x = np.where((ahead >= low) & (ahead <= high), ahead, (low + high) / 2)
        # Each step squares what is left of the error, so the one just taken is good enough.
        if np.all((np.abs(here - score) < 5e-3) | (high - low <= 1e-9 * np.abs(x))):
            break
    return x


def _first_guess(weight, centre, deviation, score):
    """From the variance, or the mean deviation where heavy tails make the variance too large."""
    middle = (weight * centre).sum(axis=0)
    spread = np.sqrt((weight * (deviation**2 + (centre - middle) ** 2)).sum(axis=0))
    return middle + score * np.minimum(spread, 1.24 * (weight * deviation).sum(axis=0))
