"""Keeps what is typed of a sweep, so that it survives a reload, signing out and another device."""

import uuid

from django.db import transaction
from django.utils import timezone

from alignment.sheets.layouts import is_box

from .models import Check, SweepDraft

# More than any page of this site sends; a longer one is not from its form.
MOST_FIELDS, LONGEST_VALUE = 800, 400
NOT_KEPT = frozenset({"csrfmiddlewaretoken", "show", "save", "work"})


def draft_of(person, visit, item, phase):
    """The person's half-typed sweep, None where there is none."""
    return SweepDraft.objects.filter(person=person, visit=visit, item=item, phase=phase).first()


@transaction.atomic
def keep_draft(person, visit, item, sent):
    """Keep what was sent of a sweep; without a reading there is nothing to keep.

    sent: the fields as the browser sends them. What was saved already is not kept again, since
    the last try of a sweep may arrive after its save.
    """
    data = _kept(sent)
    phase, entry_id = data.get("phase"), _uuid(data.get("entry_id"))
    if visit.is_signed or phase not in Check.Phase.values or entry_id is None:
        return
    own = SweepDraft.objects.filter(person=person, visit=visit, item=item)
    # The same sweep may have been begun as the other phase.
    own.filter(entry_id=entry_id).exclude(phase=phase).delete()
    if not _has_readings(data) or Check.objects.filter(entry_id=entry_id).exists():
        own.filter(phase=phase, entry_id=entry_id).delete()
        return
    values = {"entry_id": entry_id, "data": data, "kept_at": timezone.now()}
    own.update_or_create(person=person, visit=visit, item=item, phase=phase, defaults=values)


def drop_draft(person, visit, item, phase):
    """Forget a half-typed sweep: it was saved, or is not wanted."""
    SweepDraft.objects.filter(person=person, visit=visit, item=item, phase=phase).delete()


def forget_drafts(visit):
    """What was half typed at a visit is of no use once it is signed."""
    visit.sweep_drafts.all().delete()


def _kept(sent):
    fields = [(name, sent.get(name)) for name in sent if name not in NOT_KEPT]
    return {
        _storable(name): _storable(value)
        for name, value in fields[:MOST_FIELDS]
        if isinstance(value, str) and len(value) <= LONGEST_VALUE
    }


def _storable(text):
    """PostgreSQL takes no NUL into its JSON."""
    return text.replace("\x00", "")


def _has_readings(data):
    return any(value.strip() for name, value in data.items() if is_box(name))


def _uuid(text):
    try:
        return uuid.UUID(text or "")
    except ValueError:
        return None
