"""Letting in who came with a shop from another site, and so has no password here."""

from datetime import timedelta

from django.core import signing
from django.template.loader import render_to_string
from django.urls import reverse

from shop.outbox.services import post
from shop.web.errors import Refused
from shop.web.served import absolute

from .models import User
from .rate_limit import once_more

OPEN_FOR = timedelta(days=14)
MOST_A_DAY = 3
SALT = "sweepbook.welcome"


def waits_to_be_let_in(user):
    """Whether a person has an account here and no way to sign in."""
    return user.is_active and not user.has_usable_password()


def let_in(user, *, by, shop):
    """Mail a person the link with which they set their password. Only the mail holds it: whoever
    asks for it is not to sign in in their place. Raises Refused."""
    if not waits_to_be_let_in(user):
        raise Refused(f"{user.name} has a password already.")
    if not user.email:
        raise Refused(f"{user.name} has no mail address here; invite them as somebody new.")
    if not once_more(f"welcome to {user.pk}", most=MOST_A_DAY, within=timedelta(days=1)):
        raise Refused(f"{MOST_A_DAY} links went to {user.email} today; send the next one tomorrow.")
    link = absolute(reverse("shop:welcome", args=[token_of(user)]))
    context = {"user": user, "by": by, "shop": shop, "link": link}
    body = render_to_string("shop/welcome.txt", context)
    subject = f"Your account for {shop}"
    return post(to=user.email, subject=subject, body=body, made_by=by, secret=True)


def token_of(user):
    return signing.dumps({"user": user.pk, "was": _mark(user)}, salt=SALT)


def person_of(token):
    """Whose link it is; None for one that is forged, used or too old."""
    try:
        said = signing.loads(token, salt=SALT, max_age=OPEN_FOR)
    except signing.BadSignature:
        return None
    user = User.objects.filter(pk=said["user"], is_active=True).first()
    works = user is not None and waits_to_be_let_in(user) and _mark(user) == said["was"]
    return user if works else None


def _mark(user):
    """Tells an unusable password from the next one: a link works while it stands."""
    return user.password[-12:]
