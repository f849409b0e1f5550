"""What a sentence of the product claims, and simulated worlds that it is held against."""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

# A short form has few runs: it fails where chance alone does not explain what it found.
SHORT_ERRORS = 3.0


@dataclass(frozen=True)
class Case:
    """One world of a row. ``simulate(rng, runs)`` gives for each of ``runs`` independent worlds
    whether the claim held in it: true or false, or the share (runs, k) of k figures that are not
    independent of each other. NaN where the product claimed nothing."""

    words: str
    simulate: Callable[[np.random.Generator, int], np.ndarray]


@dataclass(frozen=True)
class Found:
    """A share found by simulation with its own standard error; ``told``: in how many worlds the
    product claimed anything."""

    words: str
    share: float
    error: float
    told: int


@dataclass(frozen=True)
class Row:
    """A claim held against some worlds: the share found must lie from ``low`` to ``high``.

    ``key``: the claim's in `tests.claims.sentences`; ``what``: what is counted; ``claimed``: as
    the user reads it. ``runs`` for the table, ``short`` for continuous integration. ``broken``:
    the worlds are ones that the model does not assume; the band then states by how much it breaks,
    and ``caution`` is the sentence of the product that says so.
    """

    key: str
    what: str
    claimed: str
    low: float
    high: float
    cases: tuple[Case, ...]
    runs: int = 4000
    short: int = 400
    broken: bool = False
    caution: str = ""

    def found(self, runs) -> list[Found]:
        """What each case came to in ``runs`` worlds; the seed is fixed by its name."""
        return [self._found(case, runs) for case in self.cases]

    def _found(self, case, runs):
        seed = zlib.crc32(f"{self.key} {self.what} {case.words}".encode())
        held = np.asarray(case.simulate(np.random.default_rng(seed), runs), float)
        if held.ndim > 1:
            held = held.reshape(len(held), -1)
            held = held[~np.isnan(held).all(axis=1)]
            held = np.nanmean(held, axis=1)
        held = held[~np.isnan(held)]
        if not held.size:
            raise ValueError(f"{self.what}, {case.words}: the product claimed nothing at all.")
        share, told = float(held.mean()), len(held)
        # Where all worlds agree the error is not nought: one more might have differed.
        floor = 1 / (told + 2)
        error = max(float(held.std()), math.sqrt(floor * (1 - floor))) / math.sqrt(told)
        return Found(case.words, share, error, told)

    def beyond(self, found) -> float:
        """How far a share lies outside the band, nothing inside."""
        return max(self.low - found.share, found.share - self.high, 0.0)

    def worst(self, founds) -> Found:
        """The case nearest to an end of the band that can fail, or farthest past it."""

        def room(found):
            low = found.share - self.low if self.low > 0 else math.inf
            high = self.high - found.share if self.high < 1 else math.inf
            return min(low, high)

        return min(founds, key=room)
