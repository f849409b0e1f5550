"""What to bring to a visit: the parts that open advice asks for, and those of belts and bearings
whose plans are due there."""

from dataclasses import dataclass, field

from machines.drive.models import Bearing, Belt, Part, Recommendation, RecommendationStep
from machines.register.models import Machine

from .models import WantedWork


@dataclass
class Wanted:
    """A part, how many of it, and what for."""

    part: Part | None
    what: str
    quantity: int = 0
    reasons: list = field(default_factory=list)

    @property
    def lacking(self):
        """How many more are needed than lie in the van."""
        return max(0, self.quantity - (self.part.in_van if self.part else 0))

    @property
    def from_shelf(self):
        """How many of those lie on the shelf."""
        return min(self.lacking, self.part.on_shelf) if self.part else 0

    @property
    def to_order(self):
        return self.lacking - self.from_shelf


def to_bring(visit):
    """What to bring to a visit, by part; a fixed number of queries."""
    return to_load([visit])


def to_load(visits):
    """What to bring to all of some visits, by part; a fixed number of queries."""
    machines = Machine.objects.filter(visited__visit__in=visits).distinct()
    wanted = {}
    advice = (
        Recommendation.objects.open()
        .filter(machine__in=machines)
        .select_related("machine", "part")
        .prefetch_related("steps")
        .most_urgent_first()
    )
    for one in advice:
        _want(wanted, one.part, one.what, one.quantity, _why(one))
    places = _places(machines)
    work = WantedWork.objects.filter(visit__in=visits).select_related("plan", "machine")
    for one in work.prefetch_related("plan__subjects"):
        for subject in one.plan.subjects.all():
            part = places.get((one.machine_id, subject.name))
            if part is not None:
                why = f"machine {one.machine.number}: in case, for {one.plan.what}"
                _want(wanted, part, str(part), 1, (why, one.plan))
    return list(wanted.values())


def _places(machines):
    """(machine pk, name) to the part of each belt and bearing; two queries."""
    return {
        (place.machine_id, place.name): place.part
        for model in (Belt, Bearing)
        for place in model.objects.filter(machine__in=machines).select_related("part")
    }


def _want(wanted, part, what, quantity, reason):
    key = part.pk if part else what
    line = wanted.setdefault(key, Wanted(part, what))
    line.quantity += quantity
    line.reasons.append(reason)


def _why(advice):
    steps = list(advice.steps.all())
    state = RecommendationStep.State(steps[-1].state).label if steps else "proposed"
    return f"machine {advice.machine.number}: {advice.what}, {state}", advice
