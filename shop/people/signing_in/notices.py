"""Mail about one's own account."""

from django.template.loader import render_to_string
from django.utils import timezone

from shop.outbox.services import post


def tell_former_address(user, former):
    """Mail the former address that it is no longer the account's."""
    if former:
        context = {"user": user, "former": former, "at": timezone.now()}
        body = render_to_string("shop/address_changed.txt", context)
        subject = "The mail address of your account was changed"
        post(to=former, subject=subject, body=body, made_by=user)
