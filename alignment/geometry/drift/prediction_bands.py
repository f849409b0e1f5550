"""Bands within which an item is expected as time goes on, for the pictures."""

from __future__ import annotations

import numpy as np

from .posterior import Belief, quantiles_of_cases
from .prediction import Course, Start, checked
from .tolerance import Circle


def fan(belief: Belief, start: Start, time, levels=(0.5, 0.95)):
    """Central bands of each part over ``time`` (T,): low and high, both (S, T, len(levels), c)."""
    position, cov = checked(belief, start, None)
    belief, cov = start.cases(belief, cov)
    time = np.atleast_1d(np.asarray(time, float))
    middle, spread = _parts_over_time(belief, position, cov, time)
    weight = np.broadcast_to(belief.weight[:, None, :, None], middle.shape)
    flat = [np.moveaxis(a, 2, -1).reshape(-1, a.shape[2]) for a in (weight, middle, spread)]
    shape = (len(position), len(time), position.shape[1])
    ends = [
        [quantiles_of_cases(*flat, (1 + side * level) / 2).reshape(shape) for level in levels]
        for side in (-1, 1)
    ]
    low, high = (np.stack(end, axis=2) for end in ends)
    return low, high


def distance_fan(belief: Belief, start: Start, time, levels=(0.5, 0.95)):
    """Central bands of the distance from where the axis should be: low, high (S, T, levels)."""
    time = np.atleast_1d(np.asarray(time, float))
    low, high = fan(belief, start, time, (1 - 1e-6,))
    farthest = 2 * np.linalg.norm(np.maximum(np.abs(low), np.abs(high))[:, :, 0], axis=-1)
    ends = np.full((2, len(farthest), len(time), len(levels)), np.nan)
    for place, level in enumerate(levels):
        for end, chance in zip(ends, ((1 + level) / 2, (1 - level) / 2), strict=True):
            end[:, :, place] = _distance_exceeded(belief, start, time, chance, farthest)
    return ends[0], ends[1]


def _distance_exceeded(belief, start, time, chance, farthest):
    """Distance (S, T) that is exceeded with the given chance, by halving."""
    series, times = farthest.shape
    position, cov = checked(belief, start, None)
    belief, cov = start.cases(belief, cov)
    each = np.repeat(np.arange(series), times)  # one row for each series and time
    known = np.flatnonzero(belief.known[each])
    each, at = each[known], np.tile(time, series)[known]
    low, high = np.zeros(len(known)), farthest.ravel()[known]
    course = Course(belief.take(each), position[each], cov[each], Circle(np.fmax(high, 1e-12)))
    for _ in range(45):
        middle = (low + high) / 2
        beyond = course.within(Circle(np.fmax(middle, 1e-12))).chance_outside(at)
        low, high = np.where(beyond > chance, middle, low), np.where(beyond > chance, high, middle)
    answer = np.full(farthest.size, np.nan)
    answer[known] = (low + high) / 2
    return answer.reshape(farthest.shape)


def _parts_over_time(belief, position, cov, time):
    """Mean and standard deviation (S, T, K, c) of each part."""
    at = time[None, :, None, None]
    middle = position[:, None, None] + belief.rate_um[:, None] * at
    spread = np.diagonal(cov, axis1=2, axis2=3)[:, None]
    spread = spread + np.diagonal(belief.rate_cov_um2, axis1=2, axis2=3)[:, None] * at**2
    return middle, np.sqrt(spread + belief.walk_um2[:, None, :, None] * at)
