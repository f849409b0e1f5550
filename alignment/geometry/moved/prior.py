"""How likely a crash moved a station, and how far, before anything is swept.

The starting table is common practice, no source: by how hard it was, and whether the station was
hit itself, is the datum or the follower of one that was, or stands elsewhere. A firm's own cases
take over as they gather: a beta-binomial for *moved*, a pooled scale for *how far*.
Source: conjugate priors of a proportion and of a normal variance, as in any text on Bayesian
statistics.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from machines.engineering.inputs import not_negative

HIT, BESIDE, ELSEWHERE = "hit", "beside", "elsewhere"
TOUCH, KNOCK, HARD = "touch", "knock", "hard"
# Chance that a station moved; common practice, no source.
CHANCES = {
    (HIT, TOUCH): 0.15, (HIT, KNOCK): 0.45, (HIT, HARD): 0.75,
    (BESIDE, TOUCH): 0.05, (BESIDE, KNOCK): 0.12, (BESIDE, HARD): 0.25,
    (ELSEWHERE, TOUCH): 0.02, (ELSEWHERE, KNOCK): 0.04, (ELSEWHERE, HARD): 0.08,
}  # fmt: skip
# Standard deviation of each of front and up of what moved, µm; common practice, no source.
SCALES_UM = {TOUCH: 10.0, KNOCK: 25.0, HARD: 60.0}
# A crash is least likely to have moved the master datum (common practice, no source).
MASTER_ODDS = 0.2
# Chance that what moved took a neighbour along, as a share of its own; common practice, no source.
ALONG_SHARE = 0.2
MOST_MOVES = 12  # stations, and pairs of them that may have been pushed over together
# How many cases of its own weigh as much as the table, for a chance and for a scale.
TABLE_WEIGHS = 8
# Across the way it was pushed a station moves less; the mean square of both stays the scale's.
ALONG, ACROSS = 1.2, 0.75


@dataclass(frozen=True)
class Case:
    """A station at a crash of before: whether it had moved, and how far if that is known."""

    place: str
    hardness: str
    moved: bool
    size_um: float | None = None


@dataclass(frozen=True, eq=False)
class Prior:
    """What may have happened, v moves of their own: ``chance`` (v,) of each, ``covariance_um2``
    (v, 2, 2) of (front, up), and which of n stations it ``carries`` (v, n); the first n carry one
    each."""

    chance: np.ndarray
    covariance_um2: np.ndarray
    carries: np.ndarray

    @property
    def moved(self) -> np.ndarray:
        """(n,) chance of each station that it moved, alone or along with another."""
        return 1 - np.prod(np.where(self.carries, 1 - self.chance[:, None], 1.0), axis=0)


def crash_prior(
    places: Sequence[str],
    hardness: str,
    *,
    master: int | None = None,
    datums: Sequence[int | None] = (),
    push: tuple[float, float] | None = None,
    cases: Iterable[Case] = (),
) -> Prior:
    """The belief before anything is swept.

    ``places``: HIT, BESIDE or ELSEWHERE of each of n stations; ``master``: which of them is the
    master datum; ``datums``: what each is measured from, which may have been pushed over with it;
    ``push``: the way (front, up) that what was hit was pushed, where it is known.
    Raises ValueError for a place or hardness that is not in the table, or a size below nought.
    """
    if hardness not in SCALES_UM or set(places) - {HIT, BESIDE, ELSEWHERE}:
        raise ValueError(f"The table has no {hardness} crash with stations {', '.join(places)}.")
    cases = list(cases)
    chance = np.array([_chance(place, hardness, cases) for place in places])
    if master is not None:
        odds = MASTER_ODDS * chance[master] / (1 - chance[master])
        chance[master] = odds / (1 + odds)
    shapes = [_shape(push if place == HIT else None) for place in places]
    along = _pairs(places, datums, master)[: max(MOST_MOVES - len(places), 0)]
    carries = np.eye(len(places) + len(along), len(places), dtype=bool)
    for row, pair in enumerate(along, start=len(places)):
        carries[row, list(pair)] = True
    together = [ALONG_SHARE * max(chance[list(pair)]) for pair in along]
    shapes += [_shape(push)] * len(along)
    covariance = _scale_um(hardness, cases) ** 2 * np.array(shapes).reshape(-1, 2, 2)
    return Prior(np.append(chance, together), covariance, carries)


def _pairs(places, datums, master) -> list[tuple[int, int]]:
    """Each station that was hit with each that is measured from it or that it is measured from,
    the master datum left out."""
    links = [(station, datum) for station, datum in enumerate(datums) if datum is not None]
    return [pair for pair in links if master not in pair and HIT in [places[i] for i in pair]]


def _chance(place: str, hardness: str, cases: Sequence[Case]) -> float:
    alike = [case.moved for case in cases if (case.place, case.hardness) == (place, hardness)]
    start = TABLE_WEIGHS * CHANCES[place, hardness]
    return (start + sum(alike)) / (TABLE_WEIGHS + len(alike))


def _scale_um(hardness: str, cases: Sequence[Case]) -> float:
    """Each size is of two directions, so its square is twice the variance of one on average."""
    sizes = [
        not_negative(case.size_um, "how far a station had moved")
        for case in cases
        if case.moved and case.hardness == hardness and case.size_um is not None
    ]
    start = TABLE_WEIGHS * SCALES_UM[hardness] ** 2
    return float(np.sqrt((start + np.sum(np.square(sizes)) / 2) / (TABLE_WEIGHS + len(sizes))))


def _shape(push: tuple[float, float] | None) -> np.ndarray:
    """(2, 2) of mean trace 2, longer along the push."""
    if push is None or not np.hypot(*push):
        return np.eye(2)
    along = np.array(push, float) / np.hypot(*push)
    across = np.array([-along[1], along[0]])
    return ALONG**2 * np.outer(along, along) + ACROSS**2 * np.outer(across, across)
