"""What changes the ticks on a procedure card."""

from django.db import transaction
from django.utils import timezone

from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import for_work
from shop.visits.withdrawing import Effects, withdraw
from shop.web.errors import Refused

from .cards import step_of
from .models import StepTick

MISTAKE = "ticked by mistake"


@transaction.atomic
def tick(*, visit, station, key, made_by):
    """Tick a step as done; ticked already, it stays with whom ticked it first.

    Raises Refused at a signed visit and for a step that is not on the station's card.
    """
    visit = for_work(visit)
    step = step_of(station, key)
    if step is None:
        raise Refused(f"The card of the {station} has no such step.")
    add_machine_to_visit(visit, station.machine)
    done, _ = StepTick.objects.get_or_create(
        visit=visit,
        station=station,
        step=key,
        defaults={"words": step.words, "made_by": made_by, "made_at": timezone.now()},
    )
    return done


@transaction.atomic
def take_tick_back(*, visit, station, key, by):
    """A step was ticked by mistake; refused once the visit is signed."""
    for done in visit.ticks.filter(station=station, step=key):
        withdraw(done, by=by, why=MISTAKE)


class _OfATick(Effects):
    def refuse_restoring(self, record):
        same = {"visit": record.visit, "station": record.station, "step": record.step}
        if StepTick.objects.filter(**same).exists():
            raise Refused("This step was ticked again since.")


OF_A_TICK = _OfATick()
