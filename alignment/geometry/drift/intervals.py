"""From visits to intervals: what moved between one visit's as left and the next one's as found.

Each as left starts a new baseline, so an interval is the change from an as left to the next as
found, and two neighbouring intervals share no measurement, except where nothing was adjusted: then
one measurement is both as found and as left, and its error enters both with opposite signs.

What cannot be used is left out with a sentence that says so; nothing is guessed. A limit changed
between sheets does not touch drift, which is in µm; the forecast takes the limits in force now.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

RIGHT_UP = 2  # parts of a vector; a flat figure such as a parallelism has one


@dataclass(frozen=True)
class Visit:
    """One item at one visit.

    ``time`` in the unit of the rate wanted: years from any day, or 1,000 spindle hours by the
    meter. ``found_um`` and ``left_um``: a number, (right, up), or None when not measured; their
    ``..._cov_um2`` the variance of each part, or a 2 × 2 covariance, in µm². ``adjusted`` False:
    nothing was moved, so as found and as left are one measurement. ``incident``: one was logged
    since the visit before. ``tolerance_um`` and ``name`` only serve to remark on a changed sheet.
    """

    time: float
    found_um: float | Sequence[float] | None = None
    left_um: float | Sequence[float] | None = None
    found_cov_um2: float | Sequence[Sequence[float]] = 0.0
    left_cov_um2: float | Sequence[Sequence[float]] = 0.0
    adjusted: bool = True
    incident: bool = False
    tolerance_um: float | None = None
    name: str = ""


@dataclass(frozen=True)
class Intervals:
    """Many series of intervals, padded to one length.

    S series of up to n intervals, c parts (1, or 2 for right and up): ``elapsed`` (S, n) in years
    or 1,000 h; ``change_um`` (S, n, c); ``start_cov_um2`` and ``end_cov_um2`` (S, n) when each
    part has that variance and no correlation, or (S, n, c, c); ``incident`` (S, n), one or more
    logged in it; ``shares_start`` (S, n), it starts from the very measurement that ended the one
    before; ``present`` (S, n), False for padding. ``remarks``: for each series, what the reader
    should know about its visits; may be empty.
    """

    elapsed: np.ndarray
    change_um: np.ndarray
    start_cov_um2: np.ndarray
    end_cov_um2: np.ndarray
    incident: np.ndarray
    shares_start: np.ndarray
    present: np.ndarray
    remarks: tuple[tuple[str, ...], ...] = ()

    @property
    def series(self) -> int:
        return self.elapsed.shape[0]

    @property
    def parts(self) -> int:
        return self.change_um.shape[-1]

    @cached_property
    def usable(self) -> np.ndarray:
        """(S, n): measured at both ends, and time did not run backwards."""
        measured = np.isfinite(self.change_um).all(axis=-1) & np.isfinite(self.elapsed)
        return self.present & measured & (np.nan_to_num(self.elapsed) >= 0)

    @cached_property
    def undisturbed(self) -> np.ndarray:
        """(S, n): usable, some time passed, and no incident was logged: wear and nothing else."""
        return self.usable & ~self.incident & (self.elapsed > 0)

    def select(self, keep: np.ndarray) -> Intervals:
        """The same series with only the intervals of ``keep`` (S, n) present."""
        fields = {name: getattr(self, name) for name in self.__dataclass_fields__}
        return Intervals(**fields | {"present": self.present & keep})

    def take(self, which: np.ndarray) -> Intervals:
        """The series picked by an index array, which may name one more than once."""
        remarks = tuple(self.remarks[i] for i in which) if self.remarks else ()
        return Intervals(*(getattr(self, name)[which] for name in _ARRAYS), remarks)

    def cut(self, series: np.ndarray, first: np.ndarray, length: np.ndarray) -> Intervals:
        """Pieces (R,) of ``length`` intervals from the ``first`` on, as series of their own."""
        along = np.arange(length.max(initial=0))
        at = series[:, None], np.minimum(first[:, None] + along, self.elapsed.shape[1] - 1)
        arrays = {name: getattr(self, name)[at] for name in _ARRAYS}
        arrays["present"] = arrays["present"] & (along < length[:, None])
        return Intervals(**arrays)


_ARRAYS = tuple(name for name in Intervals.__dataclass_fields__ if name != "remarks")


def make_intervals(
    elapsed,
    change_um,
    start_cov_um2=0.0,
    end_cov_um2=0.0,
    incident=False,
    shares_start=False,
    present=True,
) -> Intervals:
    """Check and shape arrays into ``Intervals``.

    ``elapsed`` (S, n); ``change_um`` (S, n), (S, n, 1) or (S, n, 2); covariances a number, (S, n)
    or (S, n, c, c), in µm²; the flags a bool or (S, n). Not measured is NaN. Raises ValueError
    when shapes do not fit or a variance is negative or not a number where the interval counts.
    """
    elapsed = np.asarray(elapsed, float)
    change = np.asarray(change_um, float)
    change = change[..., None] if change.ndim == 2 else change
    if elapsed.ndim != 2 or change.shape[:2] != elapsed.shape or change.shape[2] > RIGHT_UP:
        raise ValueError(
            f"Elapsed times have shape {elapsed.shape} and changes {np.shape(change_um)}: expected "
            "one row a series, and for each interval one number or (right, up)."
        )
    flags = [np.broadcast_to(np.asarray(f, bool), elapsed.shape) for f in (present,)]
    flags += [np.broadcast_to(np.asarray(f, bool), elapsed.shape) for f in (incident, shares_start)]
    covariances = _covariances((start_cov_um2, end_cov_um2), change.shape)
    made = Intervals(elapsed, change, *covariances, flags[1], flags[2], flags[0])
    for covariance in covariances:
        spread = covariance if covariance.ndim == 2 else np.diagonal(covariance, axis1=2, axis2=3)
        counted = covariance[made.usable]
        if not (np.all(np.isfinite(counted)) and np.all(spread[made.usable] >= 0)):
            raise ValueError("A variance must be a number, and not negative, wherever it counts.")
    return made


def intervals_from_visits(series: Iterable[Sequence[Visit]]) -> Intervals:
    """Turn each series of visits, in the order they were made, into its intervals.

    A missing as found or as left leaves out the intervals that need it, time running backwards
    leaves out that interval, and ``remarks`` say so. Raises ValueError when series mix numbers
    and vectors.
    """
    visits = [[_as_one_measurement(v) for v in one] for one in series]
    rows = [_intervals_of(one) for one in visits]
    parts = {len(_vector(value)) for one in visits for value in _values(one)} or {1}
    if len(parts) > 1:
        raise ValueError("Some values are single numbers and some are (right, up): expected alike.")
    c, n = parts.pop(), max((len(row) for row in rows), default=0)
    shape = (len(rows), n)
    elapsed, change = np.full(shape, np.nan), np.full((*shape, c), np.nan)
    start, end = np.zeros((*shape, c, c)), np.zeros((*shape, c, c))
    flags = np.zeros((3, *shape), bool)
    for s, row in enumerate(rows):
        for i, (before, after) in enumerate(row):
            elapsed[s, i] = after.time - before.time
            change[s, i] = _change(before, after, c)
            start[s, i] = _matrix(before.left_cov_um2, c)
            end[s, i] = _matrix(after.found_cov_um2, c)
            flags[:, s, i] = True, after.incident, i > 0 and not before.adjusted
    present, incident, shares = flags
    start, end = _plain_if_round(start, end)
    made = make_intervals(elapsed, change, start, end, incident, shares, present)
    remarks = tuple(tuple(_remarks(one)) for one in visits)
    return Intervals(*(getattr(made, name) for name in _ARRAYS), remarks)


def _as_one_measurement(visit: Visit) -> Visit:
    """Where nothing was adjusted, the one measurement stands for both."""
    if visit.adjusted:
        return visit
    found = visit.found_um is not None
    value = visit.found_um if found else visit.left_um
    covariance = visit.found_cov_um2 if found else visit.left_cov_um2
    return Visit(
        visit.time,
        value,
        value,
        covariance,
        covariance,
        False,
        visit.incident,
        visit.tolerance_um,
        visit.name,
    )


def _intervals_of(visits):
    return list(pairwise(visits))


def _values(visits):
    return [v for visit in visits for v in (visit.found_um, visit.left_um) if v is not None]


def _vector(value):
    return np.atleast_1d(np.asarray(value, float))


def _change(before, after, parts):
    if before.left_um is None or after.found_um is None:
        return np.full(parts, np.nan)
    return _vector(after.found_um) - _vector(before.left_um)


def _matrix(covariance, parts):
    covariance = np.asarray(covariance, float)
    return covariance * np.eye(parts) if covariance.ndim == 0 else covariance


def _plain_if_round(start, end):
    """One variance for both parts is quicker to work with than a matrix that says the same."""
    both = np.stack([start, end])
    plain = both[..., 0, 0]
    if np.array_equal(both, plain[..., None, None] * np.eye(both.shape[-1])):
        return plain[0], plain[1]
    return start, end


def _covariances(given, shape):
    """Both covariances as (S, n), or both as (S, n, c, c) when either came so."""
    parts = shape[2]
    given = [np.asarray(g, float) for g in given]
    if all(g.ndim <= 2 for g in given):
        return [np.broadcast_to(g, shape[:2]) for g in given]
    full = [g if g.ndim == 4 else g[..., None, None] * np.eye(parts) for g in given]
    return [np.broadcast_to(g, (*shape, parts)) for g in full]


def _remarks(visits):
    """What the reader should know about these visits, one sentence each."""
    for number, visit in enumerate(visits, start=1):
        if visit.found_um is None and number > 1:
            yield f"Visit {number} has no as found, so what moved before it is not known."
        if visit.left_um is None and number < len(visits):
            yield f"Visit {number} has no as left, so what moved after it is not known."
    for number, (before, after) in enumerate(_intervals_of(visits), start=1):
        if after.time < before.time:
            yield (
                f"Time runs backwards from visit {number} to visit {number + 1} (a new hour meter, "
                "or a wrong date?), so what moved between them is left out."
            )
        if after.time == before.time:
            yield f"No time passed between visit {number} and visit {number + 1}."
        if None not in (before.tolerance_um, after.tolerance_um) and (
            before.tolerance_um != after.tolerance_um
        ):
            yield (
                f"The tolerance changed from {before.tolerance_um:g} to {after.tolerance_um:g} µm "
                f"at visit {number + 1}; drift is in µm and stays the same, the forecast uses the "
                "newest."
            )
        if before.name and after.name and before.name != after.name:
            yield (
                f"The sheet calls it “{after.name}” since visit {number + 1} and called it "
                f"“{before.name}” before; taken as one item."
            )
