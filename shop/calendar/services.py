"""What changes visits ahead, proposals of visits, and the days a shop is closed."""

from datetime import timedelta
from itertools import islice

from django.db import transaction
from django.utils import timezone

from shop.people.telling import enter
from shop.visits.models import Visit
from shop.visits.services import open_visit
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .models import ClosedDays, Proposal, ProposalStep, ProposedDay
from .times import Slot, overlap

MOST_DAYS_THAT_SUIT = 3


@entered_once(Visit)
def plan_visit(*, shop, firm, contractor, purpose, slot, made_by, told=None, entry_id=None):
    """Plan a visit for a day to come; Refused for one that has passed.

    told: the `Told` by which the day was agreed, where the owner did not enter it.
    """
    _refuse_past(shop, slot)
    what = f"A visit on {slot.in_words}: {purpose}"
    return open_visit(
        shop=shop,
        firm=firm,
        contractor=contractor,
        purpose=purpose,
        planned_for=slot.day,
        planned_from=slot.start,
        planned_until=slot.end,
        day_told=enter(told, shop=shop, what=what, made_by=made_by),
        made_by=made_by,
        entry_id=entry_id,
    )


def _refuse_past(shop, slot):
    if slot.day < shop.today:
        raise Refused(f"{slot.in_words} has passed; a visit is planned for today or later.")


def _locked_ahead(visit):
    """The visit, locked, if nobody has begun it yet."""
    locked = Visit.objects.select_for_update(of=("self",)).select_related("shop").get(pk=visit.pk)
    if locked.state != Visit.State.PLANNED:
        raise Refused(f"Visit {locked.number} is {locked.state}; only a planned one is moved.")
    return locked


@transaction.atomic
def move_visit(visit, *, slot, reason):
    """Plan a visit for another time, with the reason."""
    visit = _locked_ahead(visit)
    _refuse_past(visit.shop, slot)
    visit.planned_for, visit.planned_from, visit.planned_until = slot.day, slot.start, slot.end
    visit.day_told = None  # it was of another day
    return _changed(visit, reason)


@transaction.atomic
def call_off(visit, *, reason):
    """Call off a visit nobody has begun; it stays on record and in every calendar as called off."""
    visit = _locked_ahead(visit)
    visit.state = Visit.State.CALLED_OFF
    return _changed(visit, reason)


def _changed(visit, reason):
    if not reason.strip():
        raise Refused("Say why: the other side reads it in the calendar.")
    visit.changes += 1
    visit.changed_at = timezone.now()
    visit.changed_why = reason.strip()
    visit.save()
    return visit


def slot_of(visit):
    """The time a visit is planned for; None for one without a day."""
    if visit.planned_for is None:
        return None
    return Slot(visit.planned_for, visit.planned_from, visit.planned_until)


@entered_once(Proposal)
def propose(*, shop, firm, purpose, slots, made_by, entry_id=None):
    """Ask a firm for a visit on one of the days that suit."""
    if not slots:
        raise Refused("Name at least one day that suits.")
    for slot in slots:
        _refuse_past(shop, slot)
        _refuse_closed(shop, slot.day)
    proposal = Proposal.objects.create(
        shop=shop, firm=firm, purpose=purpose, made_by=made_by, **identified(entry_id)
    )
    ProposedDay.objects.bulk_create(_day(proposal, slot) for slot in slots)
    return proposal


def _day(proposal, slot, **more):
    return ProposedDay(
        proposal=proposal, day=slot.day, time_from=slot.start, time_until=slot.end, **more
    )


def _refuse_closed(shop, day):
    if why := closed_why(shop, day):
        raise Refused(f"{shop} is closed on {day:%A}, {Slot(day).in_words}: {why}.")


def _locked(proposal, *states):
    """The proposal, locked, if it waits in one of `states`."""
    locked = (
        Proposal.objects.select_for_update(of=("self",))
        .select_related("shop", "firm")
        .get(pk=proposal.pk)
    )
    if locked.state not in states:
        raise Refused(f"This proposal is {locked.get_state_display()}; it was answered already.")
    return locked


@transaction.atomic
def accept(proposal, *, day, made_by):
    """Accept one of the days that suit: a visit is planned for it."""
    proposal = _locked(proposal, Proposal.State.WITH_CONTRACTOR)
    return _agree(proposal, day, contractor=made_by, made_by=made_by)


@transaction.atomic
def move(proposal, *, slot, reason, made_by):
    """Answer with another day, which the owner has to agree to."""
    proposal = _locked(proposal, Proposal.State.WITH_CONTRACTOR)
    _refuse_past(proposal.shop, slot)
    _refuse_closed(proposal.shop, slot.day)
    _step(proposal, Proposal.State.WITH_OWNER, made_by, reason, needs_reason=True)
    _day(proposal, slot, by_contractor=True).save()
    return proposal


@transaction.atomic
def agree(proposal, *, made_by, told=None):
    """Agree to the day the contractor moved it to; told: how, where the contractor was told."""
    proposal = _locked(proposal, Proposal.State.WITH_OWNER)
    contractor = proposal.steps.last().made_by
    day = proposal.days.get(by_contractor=True)
    return _agree(proposal, day, contractor=contractor, made_by=made_by, told=told)


def _agree(proposal, day, *, contractor, made_by, told=None):
    slot = Slot(day.day, day.time_from, day.time_until)
    proposal.visit = plan_visit(
        shop=proposal.shop,
        firm=proposal.firm,
        contractor=contractor,
        purpose=proposal.purpose,
        slot=slot,
        made_by=made_by,
        told=told,
    )
    how = f", {proposal.visit.day_told}" if told else ""
    _step(proposal, Proposal.State.AGREED, made_by, f"{slot.in_words}{how}"[:200])
    return proposal.visit


@transaction.atomic
def decline(proposal, *, reason, made_by):
    """Say no to a proposal, with the reason."""
    proposal = _locked(proposal, Proposal.State.WITH_CONTRACTOR)
    _step(proposal, Proposal.State.DECLINED, made_by, reason, needs_reason=True)
    return proposal


@transaction.atomic
def withdraw(proposal, *, reason, made_by):
    """Take a proposal back while it is open."""
    proposal = _locked(proposal, *Proposal.OPEN)
    _step(proposal, Proposal.State.WITHDRAWN, made_by, reason)
    return proposal


def _step(proposal, state, made_by, note, *, needs_reason=False):
    note = note.strip()
    if needs_reason and not note:
        raise Refused("Say why: the other side wants to know.")
    proposal.state = state
    proposal.save()
    ProposalStep.objects.create(proposal=proposal, state=state, note=note, made_by=made_by)


@entered_once(ClosedDays)
def close_days(*, shop, first, last, why, made_by, entry_id=None):
    """Put days on record on which a shop is closed."""
    if last < first:
        raise Refused("The last day closed cannot come before the first.")
    return ClosedDays.objects.create(
        shop=shop, first=first, last=last, why=why, made_by=made_by, **identified(entry_id)
    )


def closed_why(shop, day):
    """Why a shop is closed on a day, empty if it is open; one query."""
    if str(day.isoweekday()) in shop.closed_weekdays:
        return "no work on that day of the week"
    closed = ClosedDays.objects.filter(shop=shop).within(day, day).first()
    return closed.why if closed else ""


def first_open_days(shop, count):
    """The first so many days from tomorrow on on which a shop is open; one query, and fewer days
    where it is closed for a year."""
    first = shop.today + timedelta(days=1)
    ahead = [first + timedelta(days=n) for n in range(365)]
    closed = ClosedDays.objects.filter(shop=shop).within(first, ahead[-1]).days_by_shop()[shop.pk]
    weekdays = shop.closed_weekdays
    is_open = (day for day in ahead if str(day.isoweekday()) not in weekdays and day not in closed)
    return list(islice(is_open, count))


def clashes(slot, *, zone, contractor, user, leave_out=None):
    """The contractor's other visits, of those `user` may see, that overlap a time; one query.

    zone: the shop's, in which the slot's times stand.
    """
    span = slot.moments(zone)
    near = [slot.day + timedelta(days=n) for n in (-1, 0, 1)]
    others = (
        Visit.objects.visible_to(user)
        .filter(contractor=contractor, state=Visit.State.PLANNED, planned_for__in=near)
        .exclude(pk=leave_out and leave_out.pk)
        .select_related("shop")
    )
    return [visit for visit in others if overlap(span, slot_of(visit).moments(visit.shop.zone))]
