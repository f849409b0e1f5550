"""What was promised at a visit: kept for a day, done, or dropped with the reason."""

from django.db import transaction
from django.utils import timezone

from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .models import ComeBackStep, Visit
from .services import note_come_back

State = ComeBackStep.State


@transaction.atomic
def note_for_a_day(visit, *, made_by, come_back_for, back_on=None):
    """Write down what is left undone at a visit, and keep it for a day where one is given."""
    noted = note_come_back(visit, come_back_for)
    if back_on:
        settle_come_back(noted, State.DAY, made_by=made_by, day=back_on)
    return noted


@entered_once(ComeBackStep)
def settle_come_back(visit, state, *, made_by, day=None, why="", entry_id=None, made_at=None):
    """Add a step of what a visit left to come back for: the day it is kept for, done, or dropped.

    Raises Refused where nothing is left, for a day that is missing or gone by, and for a drop
    without its reason.
    """
    locked = Visit.objects.select_for_update(of=("self",)).select_related("shop").get(pk=visit.pk)
    why = why.strip()
    _check(locked, state, day, why)
    return ComeBackStep.objects.create(
        visit=locked,
        state=state,
        day=day if state == State.DAY else None,
        why=why,
        made_by=made_by,
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )


def _check(visit, state, day, why):
    if not visit.come_back_for:
        raise Refused(f"Nothing was left to come back for at visit {visit.number}.")
    if ended := visit.come_back_steps.filter(state__in=ComeBackStep.SETTLED).first():
        raise Refused(f"It is {ended.get_state_display()} already.")
    if state == State.DAY and (day is None or day < visit.shop.today):
        raise Refused("Give the day you come back: today or later.")
    if state == State.DROPPED and not why:
        raise Refused("Say why it is dropped: the owner reads it.")
