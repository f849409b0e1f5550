"""The lives of belts and bearings over many machines, by type, and what can be told from them."""

from collections import defaultdict
from dataclasses import dataclass

from django.utils import timezone

from machines.engineering.life import WeibullFit, fit_weibull
from machines.engineering.meters import MeterReading as Counted
from machines.engineering.meters import accumulate
from machines.engineering.replacement_age import ReplacementAge, replacement_age
from machines.register.models import Machine, MeterReading

from .lives import Life, lives_of
from .models import Bearing, Belt, Fitting

CONFIDENCE = 0.90


@dataclass(frozen=True)
class TypeLives:
    """All known lives of one type of belt or bearing."""

    type: str
    lives: tuple[Life, ...]

    @property
    def failures_h(self):
        """Hours of those that lived to their end."""
        return [life.hours for life in self.lives if life.failed and life.hours]

    @property
    def running_h(self):
        """Hours of those that still run, or came out while good."""
        return [life.hours for life in self.lives if not life.failed and life.hours]

    @property
    def unknown(self):
        """How many units count for nothing, because their hours are not known."""
        return len(self.lives) - self.count

    @property
    def count(self):
        return len(self.failures_h) + len(self.running_h)

    def fit(self) -> WeibullFit:
        """The fitted life; ValueError, in words for the person, where there are too few."""
        return fit_weibull(self.failures_h, self.running_h, CONFIDENCE)

    def known(self):
        """The `KnownOfType` they come to."""
        fit, why_not = None, ""
        try:
            fit = self.fit()
        except ValueError as error:
            why_not = str(error)
        counts = len(self.failures_h), len(self.running_h), self.unknown
        return KnownOfType(self.type, *counts, fit, why_not)


@dataclass(frozen=True)
class KnownOfType:
    """What is known of the lives of one type: how many lived to their end, still run or came out
    while good, and are not counted; and their fit, or why there is none."""

    type: str
    failed: int
    running: int
    unknown: int
    fit: WeibullFit | None
    why_not: str

    @property
    def shape(self):
        """The shape with its interval, in words."""
        low, high = self.fit.shape_bounds
        middle = self.fit.middle_of(lambda shape, _scale: shape)
        return f"{middle:.2f} ({low:.2f} to {high:.2f})"

    @property
    def scale(self):
        """The scale, the age by which two in three have failed, in words."""
        low, high = self.fit.scale_bounds_h
        middle = self.fit.middle_of(lambda _shape, scale: scale)
        return f"{middle:,.0f} h ({low:,.0f} to {high:,.0f})"

    def replacement_age(self, planned_cost, breakdown_cost) -> ReplacementAge | None:
        """The cheapest age to replace at; None where no life can be fitted."""
        if self.fit is None:
            return None
        try:
            return replacement_age(self.fit, float(planned_cost), float(breakdown_cost))
        except ValueError:
            return None


def type_of(place):
    """What kind of belt or bearing it is: profile and width, or designation, else
    the bore."""
    if isinstance(place, Belt):
        width = f"{place.width_mm.normalize():f} mm wide" if place.width_mm else "width not known"
        return f"belt {place.profile or 'of a profile not known'}, {width}"
    if place.designation:
        return f"bearing {place.designation}"
    bore = f"{place.bore_mm.normalize():f} mm bore" if place.bore_mm else "no designation"
    return f"bearing, {bore}"


def fleet_lives(machines):
    """The `TypeLives` of the belts and bearings of `machines`, by type; a fixed number of
    queries."""
    now = timezone.now()
    totals, by_type = totals_of(machines), defaultdict(list)
    for places in (Belt.objects.filter(machine__in=machines), _bearings_of(machines)):
        fitted = _fittings_at(places)
        for place in places.select_related("machine__shop"):
            sum_of_hours = totals.get(place.machine_id, accumulate([]))
            lives = lives_of(place, fitted[place.pk], sum_of_hours, now=now)
            by_type[type_of(place)] += lives
    return [TypeLives(kind, tuple(lives)) for kind, lives in sorted(by_type.items())]


def _bearings_of(machines):
    return Bearing.objects.filter(machine__in=machines)


def _fittings_at(places):
    """The fittings of belts or bearings by the place they are in, newest first; one query."""
    name = places.model._meta.model_name
    fitted = defaultdict(list)
    for fitting in Fitting.objects.filter(**{f"{name}__in": places}).select_related("removal"):
        fitted[getattr(fitting, f"{name}_id")].append(fitting)
    return fitted


def totals_of(machines):
    """The spindle hours that each machine's meter has counted, by its key; one query."""
    readings = defaultdict(list)
    found = MeterReading.objects.counted().filter(
        machine__in=machines, kind=MeterReading.Kind.SPINDLE_HOURS
    )
    for key, at, value, new_meter in found.values_list("machine", "read_at", "value", "new_meter"):
        readings[key].append(Counted(at, float(value), new_meter))
    return {key: accumulate(of_one) for key, of_one in readings.items()}


def lives_at(shop):
    """The `TypeLives` of one shop's machines, by type."""
    return {one.type: one for one in fleet_lives(Machine.objects.filter(shop=shop))}
