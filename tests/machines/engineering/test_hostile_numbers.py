"""Whatever number a function of the core is given, it answers with figures or a ValueError."""

import math
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest

from machines.engineering.bearing_condition import ZoneLimits, vibration_zone
from machines.engineering.bearings import defect_frequencies, life_used, match_peaks, rating_life
from machines.engineering.belt_drives import drive_geometry, overall_ratio
from machines.engineering.belt_tension import (
    span_frequency_hz,
    span_tension_n,
    tension_from_deflection_n,
    tension_verdict,
)
from machines.engineering.due import Interval, WorkRecord, due
from machines.engineering.life import fit_weibull
from machines.engineering.meters import MeterReading, accumulate, projection, usage_rate
from machines.engineering.repair_rates import grouped_power_law, mtbf, power_law
from machines.engineering.replacement_age import replacement_age
from machines.engineering.trends import trend
from machines.engineering.trips import trips

START = datetime(2025, 1, 6, 8, tzinfo=UTC)
HOSTILE = [
    *(1e200, -1e200, 1e308, 1e-200, 5e-324, math.nan, math.inf, -math.inf, 10**400, -1, 0, 1.5),
    *(0.1, 1e11, -0.0, None, "many", "", Decimal("NaN"), Decimal("sNaN"), 1j, True),
]


def readings(second, third):
    at = (START, START + timedelta(days=30), START + timedelta(days=60))
    return [MeterReading(*pair) for pair in zip(at, (0, second, third), strict=True)]


def dues(hours, second, third):
    record = WorkRecord(since=START, hours=tuple(readings(second, third)))
    return due(Interval(spindle_hours=hours), record, START + timedelta(days=90), UTC)


def told(fit):
    age = replacement_age(fit, 1, 9)
    return fit, fit.mean_bounds_h, fit.shape_bounds, fit.sentence, age, age.sentence


def frequencies(*peaks):
    return match_peaks(defect_frequencies(9, 7.94, 39.04, 1797), peaks)


CALLS = [
    (lambda *a: told(fit_weibull(a[:2], a[2:3], a[3])), (500, 900, 700, 0.9)),
    (lambda *a: replacement_age(fit_weibull([500, 900, 700]), *a), (100, 900)),
    (mtbf, (800, 2, 0.9)),
    (lambda *a: power_law(a[:3], *a[3:]), (100, 500, 900, 1000, 0.9)),
    (lambda *a: grouped_power_law(a[:2], a[2:4], a[4]), (500, 1000, 2, 3, 0.9)),
    (lambda *a: trend(a[:4], a[4]), (100, 500, 700, 900, 1000)),
    (lambda *a: usage_rate(readings(*a[:2]), *a[2:]), (100, 250, 120, 0.9)),
    (lambda *a: projection(accumulate(readings(*a[:2])), a[2], START), (100, 250, 900)),
    (dues, (1000, 100, 250)),
    (lambda *a: Interval(*a), (1, 2, 3, 4, 500, 600)),
    (defect_frequencies, (9, 7.94, 39.04, 1797, 15)),
    (frequencies, (107.4, 162.2)),
    (rating_life, (30_000, 5000, 1500)),
    (lambda hours: life_used(hours, rating_life(30_000, 5000, 1500)), (100,)),
    (vibration_zone, (2.1,)),
    (lambda *a: ZoneLimits(*a, "a source"), (1.4, 2.8, 4.5)),
    (span_tension_n, (0.1, 200, 80)),
    (span_frequency_hz, (0.1, 200, 80)),
    (tension_from_deflection_n, (10, 3, 200)),
    (tension_verdict, (100, 80, 120)),
    (lambda *a: drive_geometry(a[0], a[1:3], a[3]), (120, 20, 40, 5)),
    (lambda *a: overall_ratio([a]), (20, 40)),
    (lambda days: trips([(date(2025, 1, 6), "work")], date(2025, 1, 6), days), (7,)),
]
CASES = [
    pytest.param(call, good, place, id=f"{number} {place}")
    for number, (call, good) in enumerate(CALLS)
    for place in range(len(good))
]


def figures(found):
    """Every number in a result."""
    if is_dataclass(found):
        found = [getattr(found, one.name) for one in fields(found)]
    if isinstance(found, np.ndarray):
        return found.ravel().tolist()
    if isinstance(found, list | tuple):
        return [figure for one in found for figure in figures(one)]
    return [found] if isinstance(found, float) else []


@pytest.mark.filterwarnings("error::RuntimeWarning")
@pytest.mark.parametrize(("call", "good", "place"), CASES)
def test_a_hostile_number_ends_in_a_figure_or_a_value_error(call, good, place):
    for bad in HOSTILE:
        try:
            found = call(*good[:place], bad, *good[place + 1 :])
        except ValueError:
            continue
        assert not any(math.isnan(figure) for figure in figures(found)), bad


@pytest.mark.parametrize("call", [call for call, _good in CALLS])
def test_what_is_beyond_all_machines_is_refused(call):
    good = next(good for one, good in CALLS if one is call)
    with pytest.raises(ValueError, match=r"finite|at most|must|cannot|between|needed"):
        call(*(1e200 for _ in good))
