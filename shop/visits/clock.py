"""What changes the clock of a visit: starting, stopping and correcting who was there when."""

from datetime import timedelta

from django.db import transaction
from django.db.models import Max, Min, Q
from django.utils import timezone

from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.moments import passed
from shop.web.wording import time_text

from .models import Visit, WorkSpell
from .services import for_change

LONGEST = timedelta(hours=24)


@entered_once(WorkSpell)
def start_clock(*, visit, who, kind, made_by, at=None, entry_id=None):
    """Start a person's clock; one that runs at this visit is stopped at the same moment.

    Work makes the visit 'on site'; travel does not.
    """
    at = at or timezone.now()
    visit = for_change(visit)
    for running in visit.spells.running().filter(who=who):
        stop_clock(running, at=at)
    return _enter(
        WorkSpell(
            visit=visit, who=who, kind=kind, began_at=at, made_by=made_by, **identified(entry_id)
        )
    )


@transaction.atomic
def stop_clock(spell, *, at=None):
    """Stop a running clock."""
    if spell.ended_at is not None:
        raise Refused("This clock was stopped already; correct its times instead.")
    spell.ended_at = at or timezone.now()
    return _enter(spell)


@entered_once(WorkSpell)
def enter_spell(*, visit, who, kind, made_by, began_at, ended_at, distance=None, entry_id=None):
    """Enter a stretch of time after the event."""
    return _enter(
        WorkSpell(
            visit=visit,
            who=who,
            kind=kind,
            began_at=began_at,
            ended_at=ended_at,
            distance=distance,
            made_by=made_by,
            **identified(entry_id),
        )
    )


@transaction.atomic
def correct_spell(spell, **changes):
    """Correct what a stretch of time says: `kind`, `who`, `began_at`, `ended_at`, `distance`."""
    for name, value in changes.items():
        setattr(spell, name, value)
    return _enter(spell)


@transaction.atomic
def remove_spell(spell):
    """Take back a stretch of time that was entered by mistake."""
    visit = for_change(spell.visit)
    spell.delete()
    _keep_times(visit)


def _enter(spell):
    """Save a spell that makes sense, and bring the visit's arrival and leaving up to date."""
    visit = for_change(spell.visit)
    spell.began_at = passed(spell.began_at, visit.shop.zone)
    spell.ended_at = spell.ended_at and passed(spell.ended_at, visit.shop.zone)
    _refuse_nonsense(spell)
    _refuse_overlap(spell, visit)
    spell.save()
    _keep_times(visit)
    return spell


def _refuse_nonsense(spell):
    until = spell.ended_at or spell.began_at
    if until < spell.began_at:
        raise Refused("It cannot end before it began; expected a later time.")
    if until - spell.began_at > LONGEST:
        raise Refused("That is more than 24 hours in one go; enter each day by itself.")
    if spell.distance is not None and spell.distance < 0:
        raise Refused("A distance is not negative; expected 0 or more.")
    if spell.distance is not None and spell.kind != WorkSpell.Kind.TRAVEL:
        raise Refused("Only travel has a distance; leave it empty for work.")


def _refuse_overlap(spell, visit):
    """Nobody is at two places, or working and travelling, at the same time."""
    others = WorkSpell.objects.filter(who=spell.who).exclude(pk=spell.pk)
    clash = others.filter(Q(ended_at__isnull=True) | Q(ended_at__gt=spell.began_at))
    if spell.ended_at is not None:
        clash = clash.filter(began_at__lt=spell.ended_at)
    first = clash.select_related("visit").order_by("began_at", "pk").first()
    if first is None:
        return
    since = time_text(first.began_at, visit.shop.zone)
    until = time_text(first.ended_at, visit.shop.zone) if first.ended_at else "now, still running"
    raise Refused(
        f"{spell.who.name}'s clock of {_place(first, visit)} covers that time: {since} to {until}."
        f"{_split(spell, first, visit)}"
    )


def _place(other, visit):
    """Which visit another spell is of; of another firm's not even the number."""
    if other.visit_id == visit.pk:
        return "this visit"
    return str(other.visit).lower() if other.visit.firm_id == visit.firm_id else "another visit"


def _split(spell, other, visit):
    """What is left of a spell before and after another one, as a sentence; "" for nothing."""
    zone, left = visit.shop.zone, []
    if spell.began_at < other.began_at:
        left.append(f"until {time_text(other.began_at, zone)}")
    if spell.ended_at and other.ended_at and spell.ended_at > other.ended_at:
        left.append(f"from {time_text(other.ended_at, zone)}")
    return f" Enter it {' and '.join(left)} instead." if left else ""


def _keep_times(visit):
    """Arrival is when the first work began; leaving is when the last ended, once none runs."""
    work = visit.spells.work()
    found = work.aggregate(first=Min("began_at"), last=Max("ended_at"))
    if found["first"] is None:
        return
    visit.arrived_at = found["first"]
    visit.left_at = None if work.running().exists() else found["last"]
    if visit.state == Visit.State.PLANNED:
        visit.state = Visit.State.ON_SITE
    visit.save(update_fields=["arrived_at", "left_at", "state"])
