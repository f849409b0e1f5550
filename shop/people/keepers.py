"""Those who keep the site: who is told when something is wrong with it."""

import uuid

from shop.outbox.services import post

from .models import User


def tell_the_keepers(subject, body, *, about):
    """Mail whoever keeps the site (staff with an address), once for each `about` (a text)."""
    keepers = User.objects.filter(is_active=True, is_staff=True).exclude(email="")
    for keeper in keepers:
        key = uuid.uuid5(uuid.NAMESPACE_URL, f"{about} to {keeper.pk}")
        post(key=key, to=keeper.email, subject=subject, body=body)
