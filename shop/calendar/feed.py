"""A person's calendar as an iCalendar file (RFC 5545), at an address only that person knows."""

import hashlib
import secrets
from datetime import UTC, timedelta
from urllib.parse import urljoin

from django.utils import timezone
from icalendar import Calendar, Event

from shop.people.models import FeedAddress

from .entries import CANCELLED, TENTATIVE, entries, today_of

# How far back and ahead the file reaches.
DAYS_BACK, DAYS_AHEAD = 90, 400

PRODUCT = "-//Sweepbook//Planning//EN"
STATUS = {CANCELLED: "CANCELLED", TENTATIVE: "TENTATIVE"}


def _digest(secret):
    return hashlib.sha256(secret.encode()).hexdigest()


def make_address(user):
    """A new secret for the person's address, told once; the one before no longer works."""
    secret = secrets.token_urlsafe(32)
    FeedAddress.objects.update_or_create(
        user=user, defaults={"secret_sha256": _digest(secret), "made_at": timezone.now()}
    )
    return secret


def revoke(user):
    FeedAddress.objects.filter(user=user).delete()


def address_of(user):
    """The record of the person's address, None without one; the secret itself is not kept."""
    return FeedAddress.objects.filter(user=user).first()


def whose(secret):
    """Whose address has this secret; None for a guessed or revoked one and for who has left."""
    found = FeedAddress.objects.filter(secret_sha256=_digest(secret), user__is_active=True)
    address = found.select_related("user").first()
    return address.user if address else None


def calendar_of(user, *, base):
    """The person's calendar file as bytes; `base` is what links are made absolute with."""
    today = today_of(user)
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", "Sweepbook")
    window = today - timedelta(days=DAYS_BACK), today + timedelta(days=DAYS_AHEAD)
    for entry in entries(user, *window):
        calendar.add_component(_event(entry, base))
    return calendar.to_ical()


def _event(entry, base):
    """One VEVENT: UID and DTSTAMP as RFC 5545 3.6.1 requires, moments in UTC.

    DTSTAMP is when the entry last changed, so that an unchanged file stays the same to the byte.
    """
    event = Event()
    event.add("uid", f"{entry.uid}@sweepbook")
    event.add("dtstamp", (entry.changed_at or timezone.now()).astimezone(UTC))
    if entry.start is None:
        event.add("dtstart", entry.first)
        # The end of an all-day event is the day after its last (RFC 5545 3.6.1).
        event.add("dtend", entry.last + timedelta(days=1))
    else:
        event.add("dtstart", entry.start.astimezone(UTC))
        event.add("dtend", entry.end.astimezone(UTC))
    event.add("summary", entry.title)
    if entry.text:
        event.add("description", entry.text)
    event.add("location", " ".join(entry.shop.address.split()))
    event.add("url", urljoin(base, entry.url))
    event.add("status", STATUS.get(entry.state, "CONFIRMED"))
    event.add("transp", "OPAQUE" if entry.busy else "TRANSPARENT")
    event.add("sequence", entry.sequence)
    if entry.changed_at:
        event.add("last-modified", entry.changed_at.astimezone(UTC))
    return event
