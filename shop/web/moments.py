"""When something happened, as it is typed at a shop or sent by a device."""

from datetime import UTC, timedelta

from django.utils import timezone

from .errors import Refused
from .wording import time_text

# A phone's clock and the server's are never quite the same.
CLOCKS_DIFFER = timedelta(minutes=2)


def in_zone(local, zone):
    """The moment in UTC of a local day and time without zone.

    Where the clocks were put back it is the first of the two. Raises Refused where they were put
    forward over it, OverflowError in the calendar's first and last hours.
    """
    moment = local.replace(tzinfo=zone).astimezone(UTC)
    if moment.astimezone(zone).replace(tzinfo=None) != local:
        raise Refused(f"There was no {local:%H:%M} on that day: the clocks were put forward.")
    return moment


def passed(moment, zone, now=None):
    """The moment of what has happened; now where a fast clock says a little later.

    Raises Refused where it lies further ahead than clocks differ, in words of the zone.
    """
    now = now or timezone.now()
    if moment > now + CLOCKS_DIFFER:
        raise Refused(f"{time_text(moment, zone)} lies in the future; expected when it happened.")
    return min(moment, now)
