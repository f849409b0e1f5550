"""The lives of belts and bearings over many machines, by type, and what can be told from them."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Prefetch
from django.utils import timezone

from machines.engineering.life import WeibullFit, fit_weibull
from machines.engineering.meters import accumulate
from machines.engineering.replacement_age import ReplacementAge, replacement_age

from ..models import Bearing, Belt, Fitting, Machine
from ..services import counted
from .lives import Life, lives_of

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

    def replacement_age(self, planned_cost, breakdown_cost) -> ReplacementAge | None:
        """The cheapest age to replace at; None where no life can be fitted."""
        try:
            return replacement_age(self.fit(), float(planned_cost), float(breakdown_cost))
        except ValueError:
            return None


def type_of(place):
    """What kind of belt or bearing it is: profile and width, or designation, else
    the bore."""
    if isinstance(place, Belt):
        return f"belt {place.profile}, {place.width_mm.normalize():f} mm wide"
    if place.designation:
        return f"bearing {place.designation}"
    bore = f"{place.bore_mm.normalize():f} mm bore" if place.bore_mm else "no designation"
    return f"bearing, {bore}"


def fleet_lives(machines):
    """The `TypeLives` of the belts and bearings of `machines`, by type; a fixed number of
    queries."""
    now = timezone.now()
    by_type = defaultdict(list)
    machines = machines.select_related("shop").prefetch_related(
        "meter_readings",
        *(
            Prefetch(places, model.objects.prefetch_related(_fittings()))
            for places, model in (("belts", Belt), ("bearings", Bearing))
        ),
    )
    for machine in machines:
        totals = spindle_totals(machine)
        for place in (*machine.belts.all(), *machine.bearings.all()):
            place.machine = machine
            by_type[type_of(place)] += lives_of(place, list(place.fittings.all()), totals, now=now)
    return [TypeLives(kind, tuple(lives)) for kind, lives in sorted(by_type.items())]


def _fittings():
    return Prefetch("fittings", Fitting.objects.select_related("removal"))


def spindle_totals(machine):
    """Spindle hours counted by a machine whose `meter_readings` were fetched."""
    return accumulate(
        counted(reading)
        for reading in machine.meter_readings.all()
        if reading.counts and reading.kind == reading.Kind.SPINDLE_HOURS
    )


def lives_at(shop):
    """The `TypeLives` of one shop's machines, by type."""
    return {one.type: one for one in fleet_lives(Machine.objects.filter(shop=shop))}
