"""The first time a chance that starts low passes a level, for many series at once."""

from __future__ import annotations

import numpy as np
from scipy import special

_MOST_STEPS = 60
_CLOSE = 1e-3  # in normal scores: 0.01 % at a chance of 5 %
_NEAR = 0.03  # from here one more secant is as good as _CLOSE
_NARROW = 1e-4  # in log time: 0.01 %
_DEEP = np.log(1e6)  # the search goes down to a millionth of the horizon


def first_crossing(chance, level: float, guess, horizon: float, steepness=2.0) -> np.ndarray:
    """Time (S,) at which ``chance`` comes up to ``level``.

    ``chance(which, time)`` gives it for the series in the index array ``which`` at ``time``; it
    may fall at first but must not fall again once it has risen. ``guess`` (S,) is where to look
    first, and ``steepness``, a number or (S,), roughly how many normal scores the chance climbs
    there while log time grows by one. Returns 0 where the level is passed from the start, infinity
    where it is not passed by ``horizon``.
    """
    goal = special.ndtri(level)

    def score(which, time):
        return special.ndtri(np.clip(chance(which, time), 1e-15, 1 - 1e-15)) - goal

    answer = np.zeros(len(guess))
    steepness = np.broadcast_to(np.asarray(steepness, float), len(guess))
    which = np.flatnonzero(score(np.arange(len(guess)), answer) < 0)
    search = _Search(guess[which], steepness[which], np.log(horizon))
    for step in range(_MOST_STEPS):
        if not which.size:
            break
        done = search.learn(score(which, np.exp(search.x)))
        answer[which] = np.where(search.never, np.inf, np.exp(search.best))
        which = which[~done]
        search.move_on(~done, halve=step > 5 and step % 2 == 0)
    return answer


class _Search:
    """Secants on log time and normal score, which is nearly a straight line.

    A secant that leaves the bracket is replaced by its middle, and so is every second one once
    they are slow, so that the search comes to an end.
    """

    def __init__(self, guess, steepness, end):
        self.end = end
        self.x = np.clip(np.log(np.clip(guess, 1e-300, 1e300)), end - _DEEP, end)
        self.low, self.high = np.full_like(self.x, end - _DEEP), np.full_like(self.x, end)
        self.capped, self.never = np.zeros((2, len(self.x)), bool)  # is ``high`` known to be high?
        self.last_x, self.last_score = np.full_like(self.x, np.nan), np.full_like(self.x, np.nan)
        self.score, self.slope, self.best = np.zeros_like(self.x), steepness, self.x

    def learn(self, score):
        """Take in the scores at ``x``; which searches are over?"""
        self.score, below = score, score < 0
        self.never = below & (self.x >= self.end)
        self.low, self.high = np.where(below, self.x, self.low), np.where(below, self.high, self.x)
        self.capped |= ~below
        rise, run = score - self.last_score, self.x - self.last_x
        tried = np.abs(run) > 0
        slope = np.divide(rise, run, out=np.zeros_like(rise), where=tried)
        self.slope = np.where(slope > 0.05, slope, self.slope)
        self.best = np.clip(self.x - score / self.slope, self.low, self.high)
        over = (np.abs(score) < _CLOSE) | (tried & (np.abs(score) < _NEAR))
        return over | self.never | (self.high - self.low < _NARROW)

    def move_on(self, going, halve):
        """Drop the searches that are over and choose where to look next."""
        for name, value in vars(self).items():
            if name != "end":
                setattr(self, name, value[going])
        ahead = self.x - self.score / self.slope
        inside = (ahead > self.low) & (ahead < self.high)
        middle = np.where(self.capped, (self.low + self.high) / 2, self.high)
        self.last_x, self.last_score = self.x, self.score
        self.x = middle if halve else np.where(inside, ahead, middle)
