"""A call written down, and what became of it."""

from django.db import transaction
from django.utils import timezone

from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .models import Call


@entered_once(Call)
def note_call(*, shop, firm, made_by, machine=None, entry_id=None, **told):
    """Write down that somebody rang; told: the call's other fields.

    Raises Refused for a machine of another shop.
    """
    if machine is not None and machine.shop_id != shop.pk:
        raise Refused(f"Machine {machine.number} stands at {machine.shop}, not at {shop}.")
    return Call.objects.create(
        shop=shop, firm=firm, machine=machine, made_by=made_by, **told, **identified(entry_id)
    )


@transaction.atomic
def settle_call(call, *, by, how):
    """Say what became of a call; Refused where it is settled, and without a word."""
    locked = Call.objects.select_for_update(of=("self",)).get(pk=call.pk)
    if not locked.is_open:
        raise Refused(f"It is settled already: {locked.settled_how}")
    if not how.strip():
        raise Refused("Say what became of it.")
    locked.settled_at, locked.settled_by, locked.settled_how = timezone.now(), by, how.strip()
    locked.save(update_fields=["settled_at", "settled_by", "settled_how"])
    return locked
