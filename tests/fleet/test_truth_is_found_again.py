"""The estimators find again what the fleet was made with, as often as their intervals promise."""

import numpy as np

from alignment.geometry.drift.fit import fit_drift
from alignment.geometry.drift.intervals import Visit, intervals_from_visits
from alignment.sandbox.demo.sweeping import DIALS
from alignment.sandbox.synthetic_data import HAND_UM
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Check
from machines.drive.lifetimes import fleet_lives, type_of
from machines.drive.models import Belt
from machines.engineering.life import fit_weibull
from machines.register.models import Machine
from machines.sandbox.synthetic_data.register import BELT_LIVES_H
from shop.sandbox.synthetic_data import Asked, make_fleet
from tests.fleet.conftest import NOW


def variance_um2(unit):
    """Of one part of a centre from four readings: 2/n of a reading's variance, which is that of
    the hand and of the dial's steps (rectangular: step²/12, JCGM 100:2008, F.2.2.1)."""
    return 0.5 * (HAND_UM**2 + float(DIALS[unit].step_um) ** 2 / 12)


def series_of(item, hours_per_day):
    """The visits of an item, oldest first, with time in 1,000 spindle hours."""
    by_visit = {}
    for check in (
        Check.objects.filter(item=item)
        .select_related("visit", "item__station__machine")
        .order_by("made_at")
    ):
        by_visit.setdefault(check.visit, {})[check.phase] = check.stands_um
    machine, last = item.station.machine, None
    happened = list(machine.incidents.values_list("happened_at", flat=True))
    variance = variance_um2(machine.shop.length_unit)
    for visit, phases in by_visit.items():
        since = [when for when in happened if (last is None or when > last)]
        yield Visit(
            time=visit.arrived_at.timestamp() / 86400 * hours_per_day / 1000,
            found_um=phases.get("as found"),
            left_um=phases.get("as left", phases.get("as found")),
            found_cov_um2=variance,
            left_cov_um2=variance,
            adjusted="as left" in phases,
            incident=any(when < visit.arrived_at for when in since),
        )
        last = visit.arrived_at


def test_rates_and_jumps_lie_in_their_intervals_as_often_as_promised(db):
    """95 % of some 200 rates: between 89 and 99.5 %, four standard deviations of such a count."""
    fleet = make_fleet(Asked(machines=24, years=3, seed=1, visits_a_year=3), NOW)
    items = AcceptanceItem.objects.exclude(quantity__in=["tir", "up"])
    items = list(items.select_related("station__machine__shop").order_by("pk"))
    truths = [fleet.truth[item.station.machine_id] for item in items]
    visits = [
        list(series_of(item, truth["hours_per_day"]))
        for item, truth in zip(items, truths, strict=True)
    ]
    fit = fit_drift(intervals_from_visits(visits))
    true = np.array(
        [t["items"][item.pk]["rate_um_per_1000_h"] for item, t in zip(items, truths, strict=True)]
    )
    held = (fit.rate_low_um <= true) & (true <= fit.rate_high_um)
    told = np.isfinite(fit.rate_low_um)
    assert told.sum() > 150
    assert 0.89 <= held[told].mean() <= 0.995
    # They are told apart from no drift at all, too, so the intervals are not merely wide.
    assert ((fit.rate_low_um > 0) | (fit.rate_high_um < 0))[told].mean() > 0.3


def test_lives_of_belts_are_found_again(db):
    """Shape and scale of the Weibull life of each type lie in their 99 % intervals."""
    make_fleet(Asked(machines=60, years=4, seed=2, visits_a_year=0.5), NOW)
    told = 0
    for lives in fleet_lives(Machine.objects.all()):
        belt = next((b for b in Belt.objects.order_by("pk") if type_of(b) == lives.type), None)
        if belt is None:
            continue
        fit = fit_weibull(lives.failures_h, lives.running_h, 0.99)
        (shape_low, shape_high), (low_h, high_h) = fit.shape_bounds, fit.scale_bounds_h
        shape, scale_h = BELT_LIVES_H[belt.name]
        assert shape_low <= shape <= shape_high, lives.type
        assert low_h <= scale_h <= high_h, lives.type
        told += len(lives.failures_h)
    assert told > 80
