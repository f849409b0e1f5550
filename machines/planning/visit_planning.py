"""Visits ahead with the due work wanted at them: proposed, answered, planned, put together."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.db.models import OuterRef, Q, Subquery

from machines.engineering.trips import trips
from shop.calendar import services
from shop.calendar.models import Proposal
from shop.calendar.times import Slot
from shop.people.models import Shop
from shop.web.wording import day_text

from .due_times import item_of, items_of, standing_dues
from .models import DueTime, WantedWork
from .plans import want_at

# What may be chosen for a visit is due within this many days.
DAYS_AHEAD = 400
# Of the work that goes together, so much is named.
MOST_OF_TRIP = 12
PURPOSE_LENGTH = Proposal._meta.get_field("purpose").max_length


def choices_of(items):
    """(key, label) of due items, as a form offers them."""
    return [(key_of(item), _label(item)) for item in items]


def key_of(item):
    return _key(item.plan.pk, item.machine.pk)


def _key(plan_pk, machine_pk):
    return f"{plan_pk}-{machine_pk}"


def _label(item):
    when = day_text(item.due.on) if item.due.on else "no date yet"
    return f"Machine {item.machine.number}: {item.plan}, {when} ({item.due.reason})"


def open_items(shop):
    """The due items of a shop that no visit has taken up yet."""
    last = shop.today + timedelta(days=DAYS_AHEAD)
    dues = standing_dues(Shop.objects.filter(pk=shop.pk)).next_times()
    return items_of(dues.filter(Q(by__lte=last) | Q(by=date.max), visit=None))


def chosen(items, keys):
    """(plan, machine) of the items that were ticked."""
    return [(item.plan, item.machine) for item in items if key_of(item) in set(keys)]


def trouble_of(machine):
    """Why a visit is wanted at a machine, as the first line of its purpose: that it stands, and its
    newest crash that nobody has closed."""
    incident = machine.incidents.open().order_by("-happened_at").first()
    state = "stopped" if machine.is_stopped else "to be looked at"
    why = f": {incident}" if incident else ""
    return f"Machine {machine.number} {state}{why}"[:PURPOSE_LENGTH]


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
def agree(proposal, *, made_by, told=None):
    """Agree to the day a proposal was moved to; what was wanted is planned for the visit."""
    return _take_up(proposal, services.agree(proposal, made_by=made_by, told=told))


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
    """One visit to one shop that does several pieces of due work: `keys` as a form takes them,
    `items` the first of them."""

    shop: Shop
    on: date
    items: tuple
    keys: tuple

    @property
    def left_out(self):
        """How many pieces of work `items` does not show."""
        return len(self.keys) - len(self.items)


def dues_to_plan(shops):
    """The `DueTime`s of work that has a day and that no visit has taken up yet."""
    return standing_dues(shops).next_times().filter(visit=None, by__lt=date.max)


def shop_trips(shops, dues, early_days, *, first=0, most=None):
    """The fewest visits to each shop that do all of `dues`, over all `shops`, by day.

    first, most: which of them, counted from 0; all of those after without `most`. Only what is due
    at the shops that these can be of is looked at: a shop that comes behind as many others has no
    visit among them. Three queries.
    """
    earliest = dues.filter(shop=OuterRef("pk")).order_by("by").values("by")[:1]
    served = shops.annotate(first_due=Subquery(earliest)).filter(first_due__isnull=False)
    order = sorted((max(shop.first_due, shop.today), shop.name, shop.pk, shop) for shop in served)
    near = {shop.pk: shop for *_order, shop in order[: most and first + most]}
    of_shop = defaultdict(list)
    rows = dues.filter(shop__in=near).order_by("by", "place", "pk")
    for shop, day, *work in rows.values_list("shop", "by", "pk", "plan", "machine"):
        of_shop[shop].append((day, tuple(work)))
    found = [
        (trip.on, shop.name, pk, trip.work)
        for pk, shop in near.items()
        for trip in trips(of_shop[pk], shop.today, early_days)
    ]
    wanted = sorted(found)[first : most and first + most]
    shown = [pk for *_trip, work in wanted for pk, *_key in work[:MOST_OF_TRIP]]
    items = {row.pk: item_of(row) for row in DueTime.objects.filter(pk__in=shown).with_all()}
    return [
        ShopTrip(
            near[shop],
            on,
            items=tuple(items[pk] for pk, *_key in work[:MOST_OF_TRIP]),
            keys=tuple(_key(plan, machine) for _pk, plan, machine in work),
        )
        for on, _name, shop, work in wanted
    ]


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
