"""Series on record as the arrays and visits that the pure core takes."""

from __future__ import annotations

import numpy as np

from alignment.geometry.drift.intervals import Intervals, Visit
from alignment.geometry.drift.prediction import Start
from alignment.geometry.drift.tolerance import Circle, Limits

from .records import VECTORS

SMALLEST = 1e-6


def shaped(intervals: Intervals, parts):
    """Intervals of series without any value still have the parts their figure has."""
    if intervals.parts == parts:
        return intervals
    fields = {name: getattr(intervals, name) for name in intervals.__dataclass_fields__}
    change = np.full((*intervals.elapsed.shape, parts), np.nan)
    return Intervals(**fields | {"change_um": change})


def visits_of(series, per):
    """The visits of a series as the core takes them."""
    unstated = _largest_u(series)
    return [
        Visit(
            time=series.clock.time(visit.day, per),
            found_um=visit.found and visit.found.vector_um,
            left_um=visit.left and visit.left.vector_um,
            found_cov_um2=_variance(visit.found, unstated),
            left_cov_um2=_variance(visit.left, unstated),
            adjusted=not visit.is_one_measurement,
            incident=bool(visit.knocks),
            name=next(one.name for one in (visit.left, visit.found, series.item) if one),
        )
        for visit in series.visits
    ]


def _largest_u(series):
    """The largest uncertainty stated in a series: what a check without one is given."""
    checks = [one for visit in series.visits for one in (visit.found, visit.left) if one]
    known = [one.vector_u_um for one in checks if one.vector_u_um is not None]
    return max(known, default=0.0)


def _variance(check, unstated):
    if check is None:
        return 0.0
    return (unstated if check.vector_u_um is None else check.vector_u_um) ** 2


def start_of(series):
    """Where each series stood after its last visit, NaN where nothing says so."""
    parts = series[0].parts
    standing = [one.last.standing if one.state.counts or one.since else None for one in series]
    nowhere = (np.nan,) * parts
    return Start(
        dof=np.array([np.inf if one is None else one.dof for one in standing]),
        position_um=np.array([nowhere if one is None else one.vector_um for one in standing]),
        cov_um2=np.array(
            [
                0.0 if one is None else _variance(one, _largest_u(of))
                for of, one in zip(series, standing, strict=True)
            ]
        ),
    )


def tolerance_of(series):
    """The limits in force, as a circle for vectors and as limits for figures. Of a run-out the
    circle is what its out-of-round leaves."""
    items = [one.item for one in series]
    if items[0].quantity in VECTORS:
        return Circle(np.array([_radius_um(one) for one in series]))
    return Limits(
        np.array([-np.inf if item.lower_um is None else float(item.lower_um) for item in items]),
        np.array([np.inf if item.upper_um is None else float(item.upper_um) for item in items]),
    )


def _radius_um(series):
    upper_um = float(series.item.upper_um)
    # A circle has a size; where form takes all of the limit, this one holds nothing.
    return max(upper_um - series.form_um, SMALLEST * upper_um) / series.counts
