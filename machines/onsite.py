"""What changes the notes made at a machine during a visit: photos, and belts taken off."""

from django.db import transaction

from shop.errors import Refused
from shop.services import entered_once, for_work, identified

from .models import BeltOff, FindingPhoto
from .services import bring_to_visit


@entered_once(FindingPhoto)
def add_photo(*, visited, image, caption, made_by, entry_id=None):
    """Keep a photo of what was found; `image` is a file that `machines.photos.clean_photo` made."""
    for_work(visited.visit)
    photo = FindingPhoto(
        visited=visited, caption=caption.strip(), made_by=made_by, **identified(entry_id)
    )
    photo.image.save("photo.jpg", image, save=False)
    photo.save()
    return photo


@transaction.atomic
def remove_photo(photo):
    """Take a photo back while its visit is not signed."""
    for_work(photo.visited.visit)
    photo.delete()


@transaction.atomic
def take_belt_off(visit, belt, *, made_by):
    """Note that a belt is off; it waits for its inspection from then on."""
    visit = for_work(visit)
    if belt.machine.shop_id != visit.shop_id:
        raise Refused("That belt is on a machine of another shop than the one visited.")
    bring_to_visit(visit, belt.machine)
    off, _ = BeltOff.objects.get_or_create(visit=visit, belt=belt, defaults={"made_by": made_by})
    return off


@transaction.atomic
def belt_stayed_on(visit, belt):
    """Take back the note that a belt was off."""
    for_work(visit).belts_off.filter(belt=belt).delete()
