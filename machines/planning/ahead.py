"""Visits ahead with the due work wanted at them: proposed, answered, planned, put together."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.utils import timezone

from machines.engineering.trips import trips
from shop.models import Proposal, Shop
from shop.planning import services
from shop.planning.times import Slot
from shop.wording import day_text

from ..models import Machine, WantedWork
from .board import due_items
from .plans import want_at

# What may be chosen for a visit is due within this many days.
DAYS_AHEAD = 400


def choices_of(items):
    """(key, label) of due items, as a form offers them."""
    return [(key_of(item), _label(item)) for item in items]


def key_of(item):
    return f"{item.plan.pk}-{item.machine.pk}"


def _label(item):
    when = day_text(item.due.on) if item.due.on else "no date yet"
    return f"Machine {item.machine.number}: {item.plan}, {when} ({item.due.reason})"


def open_items(shop):
    """The due items of a shop that no visit has taken up yet."""
    last = timezone.localdate(timezone=shop.zone) + timedelta(days=DAYS_AHEAD)
    return [
        item
        for item in due_items(Machine.objects.filter(shop=shop))
        if item.visit is None and (item.due.on is None or item.due.on <= last)
    ]


def chosen(items, keys):
    """(plan, machine) of the items that were ticked."""
    return [(item.plan, item.machine) for item in items if key_of(item) in set(keys)]


@transaction.atomic
def propose(*, pairs, **proposal):
    """Propose a visit together with the work wanted at it."""
    made = services.propose(**proposal)
    for plan, machine in pairs:
        WantedWork.objects.get_or_create(proposal=made, plan=plan, machine=machine)
    return made


@transaction.atomic
def accept(proposal, *, day, made_by):
    """Accept a proposal; what was wanted is planned for the visit."""
    return _take_up(proposal, services.accept(proposal, day=day, made_by=made_by))


@transaction.atomic
def agree(proposal, *, made_by):
    """Agree to the day a proposal was moved to; what was wanted is planned for the visit."""
    return _take_up(proposal, services.agree(proposal, made_by=made_by))


def _take_up(proposal, visit):
    wanted = proposal.wanted.select_related("plan", "machine")
    want_at(visit, [(work.plan, work.machine) for work in wanted])
    return visit


@transaction.atomic
def plan_visit(*, pairs, **visit):
    """Plan a visit together with the work to be done at it."""
    made = services.plan_visit(**visit)
    want_at(made, pairs)
    return made


@dataclass(frozen=True)
class ShopTrip:
    """One visit to one shop that does several pieces of due work."""

    shop: Shop
    on: date
    items: tuple


def shop_trips(shops, early_days):
    """The fewest visits to each shop that do all that is due, over all `shops`, by day."""
    served = {shop.pk: shop for shop in shops}
    dues = {pk: [] for pk in served}
    for item in due_items(Machine.objects.filter(shop__in=served)):
        if item.visit is None and item.due.on is not None:
            dues[item.machine.shop_id].append((item.due.on, item))
    found = [
        ShopTrip(shop, trip.on, trip.work)
        for pk, shop in served.items()
        for trip in trips(dues[pk], timezone.localdate(timezone=shop.zone), early_days)
    ]
    return sorted(found, key=lambda trip: (trip.on, trip.shop.name))


def days_of(proposal, user):
    """The proposed days with what each clashes with, as far as the person may see it."""
    by_contractor = proposal.state == Proposal.State.WITH_OWNER
    return [
        (day, services.closed_why(proposal.shop, day.day), _clashes(proposal, day, user))
        for day in proposal.days.all()
        if day.by_contractor == by_contractor
    ]


def _clashes(proposal, day, user):
    contractor = user if proposal.state == Proposal.State.WITH_CONTRACTOR else None
    if contractor is None:
        return []
    slot = Slot(day.day, day.time_from, day.time_until)
    return services.clashes(slot, zone=proposal.shop.zone, contractor=contractor, user=user)
