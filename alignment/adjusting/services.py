"""What changes adjustments and the ways a station is adjusted."""

from django.db import transaction
from django.utils import timezone

from alignment.sweeps.models import Adjustment
from alignment.sweeps.services import _refuse_ended
from alignment.sweeps.states import why_no_plan_from
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import for_work
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused


@entered_once(Adjustment)
def record_adjustment(
    *,
    visit,
    station,
    what,
    made_by,
    front_um=None,
    up_um=None,
    by_way="",
    planned_from=None,
    foretold=None,
    entry_id=None,
    made_at=None,
):
    """Record that a station was moved; it and what is measured from it are stale from then on.

    by_way, planned_from, foretold: the way a planned move used in words, the check it was
    planned from and the `Place` where the station was foretold to stand; all or none. Raises
    Refused for a plan from a check that no longer counts, and for a station that was ended.
    """
    visit = for_work(visit)
    _refuse_ended(station)
    if planned_from is not None and (reason := why_no_plan_from(planned_from)):
        raise Refused(reason)
    add_machine_to_visit(visit, station.machine)
    return Adjustment.objects.create(
        visit=visit,
        station=station,
        what=what,
        front_um=front_um,
        up_um=up_um,
        by_way=by_way,
        planned_from=planned_from,
        foretold_front_um=foretold.front_um if foretold else None,
        foretold_up_um=foretold.up_um if foretold else None,
        made_by=made_by,
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )


@transaction.atomic
def set_way(station, way):
    """Put a way of adjusting on a station's record, or over the one of the same kind there."""
    said = {"settings": way.settings, "note": way.note}
    kept, _is_new = station.ways.update_or_create(kind=way.kind, defaults=said)
    return kept


def drop_way(station, kind):
    """Take a way of adjusting off a station's record; moves planned by it keep their figures."""
    station.ways.filter(kind=kind).delete()
