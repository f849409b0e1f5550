"""What stands in a person's calendar, gathered by `PLANNING_SOURCES`.

A source is `(user, first, last, most) -> list[Entry]`: what the person may see between two days, in
a fixed number of queries. Of what there may be very much of it gives `most` a day, and an entry
that says how many more there are; all of it for None.
"""

import uuid
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from textwrap import shorten

from django.conf import settings
from django.db.models import Q
from django.utils import timezone

from shop.hooks import hooks
from shop.people.models import Shop
from shop.visits.models import Visit

from .models import ClosedDays, Proposal
from .services import slot_of
from .times import Slot, overlap

CONFIRMED, TENTATIVE, CANCELLED = "confirmed", "tentative", "cancelled"


@dataclass(frozen=True)
class Entry:
    """Something on one or more days; `start` and `end` are moments, None for whole days.

    `uid` stays the same however often the entry moves, and `sequence` grows each time it does.
    `busy` says whether it takes up somebody's time. `clashes` says that somebody would have to be
    in two places. `of_many` stands for entries of many shops that are left out.
    """

    uid: uuid.UUID
    kind: str
    title: str
    shop: Shop
    first: date
    last: date
    start: datetime | None = None
    end: datetime | None = None
    short: str = ""
    text: str = ""
    url: str = ""
    state: str = CONFIRMED
    sequence: int = 0
    changed_at: datetime | None = None
    busy: bool = False
    who: int | None = None
    clashes: bool = False
    of_many: bool = False

    @property
    def times(self):
        """'08:00 to 12:00' in the shop's time; empty for whole days."""
        if self.start is None:
            return ""
        zone = self.shop.zone
        return f"{self.start.astimezone(zone):%H:%M} to {self.end.astimezone(zone):%H:%M}"

    @property
    def order(self):
        return self.first, self.of_many, self.times, self.title


def entries(user, first, last, most=None):
    """Everything of the person's between two days, in order; clashes marked.

    most: how many of a kind are told of a day where there may be very many; all for None.
    """
    found = [
        entry
        for source in hooks(settings.PLANNING_SOURCES, about="calendar")
        for entry in source(user, first, last, most)
        if entry.first <= last and entry.last >= first
    ]
    return _clashes_marked(sorted(found, key=lambda entry: entry.order))


def _clashes_marked(found):
    closed = {
        (entry.shop.pk, entry.first + timedelta(days=n))
        for entry in found
        if entry.kind == "closed"
        for n in range((entry.last - entry.first).days + 1)
    }
    busy = [entry for entry in found if entry.busy]
    return [
        replace(entry, clashes=_clashes(entry, busy, closed)) if entry.busy else entry
        for entry in found
    ]


def _clashes(entry, busy, closed):
    if (entry.shop.pk, entry.first) in closed or _day_off(entry):
        return True
    return any(
        other is not entry and other.who == entry.who and overlap(_span(entry), _span(other))
        for other in busy
    )


def _day_off(entry):
    return str(entry.first.isoweekday()) in entry.shop.closed_weekdays


def _span(entry):
    if entry.start is not None:
        return entry.start, entry.end
    return Slot(entry.first).moments(entry.shop.zone)


def visits(user, first, last, _most=None):
    """Visits planned, begun and called off; one query."""
    around = (first - timedelta(days=1), last + timedelta(days=1))
    found = (
        Visit.objects.visible_to(user)
        .filter(Q(planned_for__range=(first, last)) | Q(arrived_at__date__range=around))
        .select_related("shop", "contractor", "firm")
    )
    return [_visit(visit) for visit in found]


def _visit(visit):
    slot = slot_of(visit)
    ahead = visit.state in (Visit.State.PLANNED, Visit.State.CALLED_OFF)
    start = end = None
    if ahead and slot is not None and not slot.whole_day:
        start, end = slot.moments(visit.shop.zone)
    elif not ahead and visit.arrived_at and visit.left_at and visit.left_at > visit.arrived_at:
        start, end = visit.arrived_at, visit.left_at
    last = end.astimezone(visit.shop.zone).date() if end else visit.day
    called_off = visit.state == Visit.State.CALLED_OFF
    return Entry(
        uid=visit.entry_id,
        kind="visit",
        title=("Called off: " if called_off else "") + f"visit {visit.number}, {visit.shop}",
        shop=visit.shop,
        first=visit.day,
        last=last,
        start=start,
        end=end,
        short=f"{visit.number} {visit.purpose}",
        text=f"{visit.purpose}. {visit.contractor.name}, {visit.firm}. {visit.state}"
        + (f": {visit.changed_why}" if visit.changed_why else ""),
        url=visit.get_absolute_url(),
        state=CANCELLED if called_off else CONFIRMED,
        sequence=visit.changes,
        changed_at=visit.changed_at or visit.made_at,
        busy=visit.state == Visit.State.PLANNED,
        who=visit.contractor_id,
    )


def come_backs(user, first, last, _most=None):
    """What visits left to come back for, on the day it is kept for; two queries."""
    left = Visit.objects.visible_to(user).to_come_back_to()
    found = left.filter(back_on__range=(first, last)).select_related("shop", "firm")
    return [_come_back(visit) for visit in found.prefetch_related("come_back_steps")]


def _come_back(visit):
    steps = list(visit.come_back_steps.all())
    what = shorten(visit.come_back_for, 80, placeholder=" ...")
    return Entry(
        uid=uuid.uuid5(visit.entry_id, "come back"),
        kind="promised",
        title=f"Come back for: {what}, {visit.shop}",
        shop=visit.shop,
        first=visit.back_on,
        last=visit.back_on,
        short=what,
        text=f"{visit.come_back_for}\n{visit.firm}, visit {visit.number}",
        url=visit.get_absolute_url(),
        state=TENTATIVE,
        sequence=len(steps) - 1,
        changed_at=steps[-1].made_at,
    )


def proposals(user, first, last, _most=None):
    """Days of proposals nobody has settled yet; two queries."""
    found = (
        Proposal.objects.visible_to(user)
        .open()
        .filter(days__day__range=(first, last))
        .select_related("shop", "firm")
        .prefetch_related("days")
        .distinct()
    )
    return [
        _proposed(proposal, day)
        for proposal in found
        for day in proposal.days.all()
        if day.by_contractor == (proposal.state == Proposal.State.WITH_OWNER)
    ]


def _proposed(proposal, day):
    slot = Slot(day.day, day.time_from, day.time_until)
    start, end = (None, None) if slot.whole_day else slot.moments(proposal.shop.zone)
    return Entry(
        uid=uuid.uuid5(proposal.entry_id, str(day.pk)),
        kind="proposed",
        title=f"Proposed: {proposal.purpose}, {proposal.shop}",
        shop=proposal.shop,
        first=day.day,
        last=day.day,
        start=start,
        end=end,
        short=proposal.purpose,
        text=f"{proposal.firm}; {proposal.get_state_display()}",
        url=proposal.get_absolute_url(),
        state=TENTATIVE,
        changed_at=proposal.made_at,
    )


def closed_days(user, first, last, _most=None):
    """Days on which the person's shops are closed, other than by the day of the week; one query."""
    found = ClosedDays.objects.visible_to(user).within(first, last).select_related("shop")
    return [
        Entry(
            uid=closed.entry_id,
            kind="closed",
            title=f"{closed.shop} closed: {closed.why}",
            shop=closed.shop,
            first=closed.first,
            last=closed.last,
            short=closed.why,
            changed_at=closed.made_at,
        )
        for closed in found
    ]


def today_of(user):
    """Today, in the zone of the person's first shop."""
    shop = Shop.objects.visible_to(user).first()
    return timezone.localdate(timezone=shop.zone if shop else None)


SOURCES = [closed_days, visits, come_backs, proposals]
