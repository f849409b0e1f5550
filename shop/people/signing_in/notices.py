"""Mail about one's own account."""

from django.core.mail import send_mail
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone


def tell_former_address(user, former):
    """Mail the former address, once the change is saved, that it is no longer the account's.

    Trouble with the mail goes to the log and stops nothing.
    """
    if not former:
        return
    context = {"user": user, "former": former, "at": timezone.now()}
    body = render_to_string("shop/address_changed.txt", context)

    def tell():
        send_mail("The mail address of your account was changed", body, None, [former])

    transaction.on_commit(tell, robust=True)
