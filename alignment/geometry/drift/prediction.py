"""Where an axis or a figure may be as time goes on from a measurement of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from .posterior import CASES, Belief, chi_squared_cases

# From so many degrees of freedom on a chance moves by less than one point in a hundred.
_MANY_DOF = 20


@dataclass(frozen=True)
class Start:
    """Where the forecast starts: ``position_um`` (S, c) as measured, and its covariance in µm².

    ``cov_um2``: a number or (S,), variance of each part, or (S, c, c). ``dof``: a number or (S,),
    the degrees of freedom that the covariance rests on.
    """

    position_um: np.ndarray
    cov_um2: np.ndarray | float = 0.0
    dof: np.ndarray | float = np.inf

    @property
    def rests_on_few(self) -> np.ndarray:
        """(S,): the covariance itself is known from so few readings that a chance shows it."""
        return np.broadcast_to(np.asarray(self.dof, float) < _MANY_DOF, len(self.position_um))

    def cases(self, belief: Belief, cov, *, told=False) -> tuple[Belief, np.ndarray]:
        """The belief of S series and covariances (S, c, c) with the weighted cases of a covariance
        from few degrees of freedom beside those of the walk: covariances (S, K, c, c), K being 1
        where all rest on many. ``told``: for a chance to tell, see `of_all_told`; without, for
        bounds."""
        few = self.rests_on_few
        if not few.any():
            return belief, cov[:, None]
        dof = np.where(few, np.maximum(self.dof, 1.0), np.inf)
        squares, weight = chi_squared_cases(dof + told)  # (cases, S)
        stretch = np.where(few, np.where(few, dof, 1.0) / squares, 1.0)
        each = belief.weight.shape[1]
        spread = Belief(
            *(np.repeat(getattr(belief, name), CASES, axis=1) for name in _BY_CASE),
            known=belief.known,
        )
        spread = replace(spread, weight=spread.weight * np.tile(weight.T, (1, each)))
        return spread, np.tile(stretch.T, (1, each))[..., None, None] * cov[:, None]

    def take(self, which) -> Start:
        """The series picked by an index array."""
        count = len(self.position_um)
        cov, dof = (
            np.broadcast_to(np.asarray(one, float), np.shape(one) or count)[which]
            for one in (self.cov_um2, self.dof)
        )
        return Start(self.position_um[which], cov, dof)


_BY_CASE = ("weight", "walk_um2", "rate_um", "rate_cov_um2", "scale")


class Course:
    """Where a batch of series may be as time goes on.

    ``cov`` (S, K, c, c), K being the belief's cases or 1: see `Start.cases`.
    """

    def __init__(self, belief, position, cov, tolerance):
        self.belief, self.position, self.tolerance = belief, position, tolerance
        rate_cov, self.cov = belief.rate_cov_um2, cov
        if tolerance.parts == 1 or (_is_round(rate_cov) and _is_round(cov)):
            rate_cov, self.cov = rate_cov[..., 0, 0], cov[..., 0, 0]
        self.rate_cov = rate_cov
        cases = belief.weight.shape[1]
        self.each = tolerance.take(np.arange(len(position)), cases)

    def pick(self, which):
        """The course of some of the series."""
        if len(which) == len(self.position):
            return self
        picked = object.__new__(Course)
        picked.belief, picked.position = self.belief.take(which), self.position[which]
        picked.cov, picked.rate_cov = self.cov[which], self.rate_cov[which]
        picked.tolerance = self.tolerance.take(which)
        picked.each = picked.tolerance.take(np.arange(len(which)), self.belief.weight.shape[1])
        return picked

    def within(self, tolerance):
        """The same course held to another tolerance."""
        held = object.__new__(Course)
        held.__dict__.update(vars(self) | {"tolerance": tolerance})
        cases = self.belief.weight.shape[1]
        held.each = tolerance.take(np.arange(len(self.position)), cases)
        return held

    def chance_outside(self, time):
        """Chance (S,) of being outside at ``time`` (S,)."""
        mean, cov = self._rates(time)
        walk = self.belief.walk_um2 * time[:, None]
        cov = cov + (walk if cov.ndim == 2 else walk[..., None, None] * np.eye(mean.shape[-1]))
        return self._together(self.each.chance_outside(*self._flat(mean, cov)))

    def confidence_too_risky(self, time, risk):
        """Confidence (S,) that the chance of being outside is past ``risk`` at ``time`` (S,)."""
        mean, cov = self._rates(time)
        wander = np.sqrt(self.belief.walk_um2 * time[:, None]).reshape(-1)
        return self._together(self.each.confidence_too_risky(*self._flat(mean, cov), wander, risk))

    def _rates(self, time):
        """Mean (S, K, c) and covariance of the place without the walk still to come."""
        after = time[:, None, None]
        mean = self.position[:, None] + self.belief.rate_um * after
        wide = (slice(None), None) if self.cov.ndim == 2 else (slice(None), None, None, None)
        return mean, self.cov + self.rate_cov * time[wide] ** 2

    def _flat(self, mean, cov):
        return mean.reshape(-1, mean.shape[-1]), cov.reshape(-1, *cov.shape[2:])

    def _together(self, chance):
        return (chance.reshape(self.belief.weight.shape) * self.belief.weight).sum(axis=1)

    def guess(self, score, walk_score):
        """Roughly when the edge is ``score`` deviations off, on a straight way there (S,).

        ``walk_score`` counts the wandering, ``score`` what is not known; a root of a quadratic.
        Returns the time and how steeply the normal score climbs there in log time.
        """
        weight = self.belief.weight
        rate = (weight[..., None] * self.belief.rate_um).sum(axis=1)
        place = self.tolerance.off_middle(self.position)
        towards = self.tolerance.off_middle(self.position + rate) - place
        speed = np.linalg.norm(towards, axis=1) if place.shape[1] > 1 else np.abs(towards[:, 0])
        along = (place * towards).sum(axis=1) / np.maximum(speed, 1e-300)
        spread = _mean_square(weight, _one_variance(self.rate_cov))
        walk = _mean_square(weight, self.belief.walk_um2)
        first = _mean_square(weight, _one_variance(self.cov))
        room = self.tolerance.reach_um - along
        a = speed**2 - score**2 * spread
        b = -2 * room * speed - walk_score**2 * walk
        time = np.minimum(_root(a, b, room**2 - score**2 * first, late=score < 0), 1e9)
        deviation = np.sqrt(first + spread * time**2 + walk * time)
        return time, np.clip(speed * time / np.maximum(deviation, 1e-300), 1.0, 50.0)


def checked(belief, start, tolerance):
    """Position (S, c) and covariance (S, c, c); ValueError when shapes do not fit."""
    position = np.asarray(start.position_um, float)
    position = position[:, None] if position.ndim == 1 else position
    series, parts = belief.rate_um.shape[0], belief.rate_um.shape[2]
    if position.shape != (series, parts):
        raise ValueError(
            f"Starting positions have shape {position.shape}: expected {series, parts}."
        )
    if tolerance is not None and tolerance.parts != parts:
        raise ValueError("A circle is for (right, up) and limits are for single figures.")
    cov = np.asarray(start.cov_um2, float)
    if cov.ndim < 3:
        cov = np.broadcast_to(cov, series)[:, None, None] * np.eye(parts)
    cov = np.broadcast_to(cov, (series, parts, parts))
    counted = cov[np.isfinite(position).all(axis=1)]
    variance = np.diagonal(counted, axis1=1, axis2=2)
    if not (np.all(np.isfinite(counted)) and np.all(variance >= 0)):
        raise ValueError("A starting variance must be a number, and not negative.")
    return position, cov


def _root(a, b, c, late):
    """A positive root of a t² + b t + c, the later one if ``late``; infinite if there is none."""
    inside = np.maximum(b * b - 4 * a * c, 0.0)
    q = -(b + np.where(b < 0, -1.0, 1.0) * np.sqrt(inside)) / 2
    both = np.stack(
        [
            np.divide(q, a, out=np.full_like(q, np.inf), where=a != 0),
            np.divide(c, q, out=np.full_like(q, np.inf), where=q != 0),
        ]
    )
    both = np.where(both > 0, both, np.inf)
    return both.max(axis=0) if late else both.min(axis=0)


def _mean_square(weight, variance):
    return (weight * np.sqrt(variance)).sum(axis=1) ** 2


def _one_variance(cov):
    """The largest variance of any part."""
    return cov if cov.ndim < 3 else np.diagonal(cov, axis1=-2, axis2=-1).max(axis=-1)


def _is_round(cov):
    """Do all parts have one variance and no correlation, in every series?"""
    return cov.shape[-1] == 1 or (
        np.array_equal(cov[..., 0, 0], cov[..., 1, 1], equal_nan=True)
        and not np.nan_to_num(cov[..., 0, 1]).any()
    )
