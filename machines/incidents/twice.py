"""One crash that was logged twice, by two people or by one whose first entry had not gone through.

What is logged is always taken, since it may stop a machine; afterwards the page asks whether it is
the same crash as one logged just before, and one tap joins both or keeps both.
"""

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from shop.web.errors import Refused
from shop.web.wording import time_text

from .models import Incident, IncidentStation, IncidentStep

# Two accounts of one crash are written within minutes; common practice, no source.
WITHIN = timedelta(minutes=15)


def maybe_twice(incident):
    """The incident logged before that this one may be, None where there is none or it was asked."""
    if incident.same_as_id or incident.told_apart:
        return None
    when = incident.happened_at
    near = incident.machine.incidents.filter(
        kind=incident.kind, same_as=None, happened_at__range=(when - WITHIN, when + WITHIN)
    )
    return near.filter(pk__lt=incident.pk).order_by("pk").first()


def asked_about(incidents):
    """The keys of those among some incidents of one machine that may be another of them."""
    return {
        one.pk
        for one in incidents
        for other in incidents
        if other.pk < one.pk
        and one.kind == other.kind
        and abs(one.happened_at - other.happened_at) <= WITHIN
        and not (one.told_apart or one.same_as_id or other.same_as_id)
    }


@transaction.atomic
def join_twice(incident, *, by):
    """Take an incident as another account of the one logged before.

    Both stay on record; the stations it names are stations hit of the other, and it is closed as
    logged twice, so that nothing counts or asks for it any more. Raises Refused where there is
    nothing to join it to.
    """
    locked = Incident.objects.select_for_update().get(pk=incident.pk)
    first = maybe_twice(locked)
    if first is None:
        raise Refused("There is no other incident of those minutes to join this one to.")
    for hit in locked.stations_hit.all():
        IncidentStation.objects.get_or_create(incident=first, station=hit.station)
    locked.same_as, locked.state = first, Incident.State.CLOSED
    locked.save(update_fields=["same_as", "state"])
    when = time_text(first.happened_at, locked.machine.shop.zone)
    IncidentStep.objects.create(
        incident=locked,
        state=Incident.State.CLOSED,
        found=f"Logged twice: it is the one of {when}.",
        made_by=by,
        made_at=timezone.now(),
    )
    return first


def keep_both(incident):
    """Take two incidents within minutes as two."""
    incident.told_apart = True
    incident.save(update_fields=["told_apart"])
