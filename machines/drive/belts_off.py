"""What changes the notes made at a machine during a visit: photos, and belts taken off."""

from django.db import transaction

from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import for_work
from shop.web.errors import Refused

from .models import BeltOff


@transaction.atomic
def take_belt_off(visit, belt, *, made_by):
    """Note that a belt is off; it waits for its inspection from then on."""
    visit = for_work(visit)
    if belt.machine.shop_id != visit.shop_id:
        raise Refused("That belt is on a machine of another shop than the one visited.")
    add_machine_to_visit(visit, belt.machine)
    off, _ = BeltOff.objects.get_or_create(visit=visit, belt=belt, defaults={"made_by": made_by})
    return off


@transaction.atomic
def belt_stayed_on(visit, belt):
    """Take back the note that a belt was off."""
    for_work(visit).belts_off.filter(belt=belt).delete()
