"""Logging an incident, and counting it as looked at when its visit is signed."""

from django.db import transaction

from shop.web.entries import entered_once, identified
from shop.web.moments import passed

from .follow_up import close_what_is_done, count_as_looked_at
from .models import Incident
from .photos import keep_photo
from .stopping import stop_machine


@entered_once(Incident)
def log_incident(*, machine, made_by, photos=(), entry_id=None, **account):
    """Log what happened at a machine; it stands stopped from then on unless it may run.
    What a photo cannot be written for waits (`photos.keep_photo`).

    photos: files that `machines.register.photos.clean_photo` made. account: the incident's other
    fields.
    """
    account["happened_at"] = passed(account["happened_at"], machine.shop.zone)
    incident = Incident.objects.create(
        machine=machine, made_by=made_by, **account, **identified(entry_id)
    )
    for photo in photos:
        keep_photo(incident, photo)
    if not incident.may_run:
        stop_machine(machine, incident=incident, by=made_by, at=incident.happened_at)
    return incident


@transaction.atomic
def look_at_incidents(visit):
    """After a visit is signed the incidents it was called for were looked at.

    They are closed with it, unless there is something to come back for, the machine still stands,
    or nobody wrote down what was found.
    """
    by, at = visit.contractor, visit.signed_at
    for visited in visit.visited.exclude(incident=None).select_related("machine", "incident"):
        count_as_looked_at([visited.incident], by=by, found=visited.findings, at=at)
        if not visited.machine.is_stopped:
            close_what_is_done(visited.machine, by=by, at=at)
