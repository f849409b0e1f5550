"""Photos of incidents: stored, or kept waiting while the site cannot write their files."""

import logging

from django.core.files.base import ContentFile
from django.db import transaction

from shop.web.best_effort import if_it_can

from .models import Incident, IncidentPhoto, WaitingPhoto

logger = logging.getLogger("sweepbook.writing")


def keep_photo(incident, photo):
    """Store a photo, or let it wait: what was said with it is never lost for its sake."""
    try:
        IncidentPhoto(incident=incident).image.save("photo.jpg", photo, save=True)
    except OSError as error:
        logger.warning("a photo of incident %s waits: %s", incident.pk, error)
        photo.seek(0)
        WaitingPhoto.objects.create(incident=incident, content=photo.read())


def still_waiting(incident):
    """How many photos of an incident wait once those that can be are stored; one query for none."""
    waiting = list(incident.waiting_photos.defer("content"))
    return sum(not if_it_can(lambda one=one: _store(one, incident)) for one in waiting)


@transaction.atomic
def _store(waiting, incident):
    """Taken away first, so that of several who look at once only one stores it; given back where
    the file cannot be written."""
    content = ContentFile(bytes(waiting.content))
    if WaitingPhoto.objects.filter(pk=waiting.pk).delete()[0]:
        IncidentPhoto(incident=incident).image.save("photo.jpg", content, save=True)


def store_all_waiting():
    """Store what can be of all that waits."""
    for incident in Incident.objects.filter(waiting_photos__isnull=False).distinct():
        still_waiting(incident)
