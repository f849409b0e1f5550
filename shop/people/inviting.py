"""Inviting people by mail: the link, the mail, and taking the place that was offered."""

from datetime import timedelta

from django.core import signing
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from shop.outbox.services import post
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.served import absolute

from .memberships import is_firm_admin, is_owner, join_firm, take_role
from .models import Firm, FirmMembership, Invitation, Role

OPEN_FOR = timedelta(days=14)
# How many a shop or a firm may have open, so that nobody floods the post.
MOST_OPEN = 30
# And send within a day, also of those taken back since.
MOST_A_DAY = 60

_signer = signing.Signer(salt="sweepbook.invitation", sep=".")
GONE = (
    "This invitation no longer works: it was used, withdrawn, or is older than "
    f"{OPEN_FOR.days} days. Ask whoever invited you for a new one."
)


@entered_once(Invitation)
def invite(*, email, made_by, shop=None, role="", firm=None, is_admin=False, entry_id=None):
    """Put an invitation on record; `send` mails it."""
    open_ones = Invitation.objects.open().filter(shop=shop, firm=firm)
    if open_ones.count() >= MOST_OPEN:
        raise Refused(f"There are {MOST_OPEN} open invitations; withdraw those of no use first.")
    today = Invitation.objects.filter(made_at__gt=timezone.now() - timedelta(days=1))
    if today.filter(shop=shop, firm=firm).count() >= MOST_A_DAY:
        raise Refused(f"{MOST_A_DAY} invitations went out within a day; send more tomorrow.")
    return Invitation.objects.create(
        email=email,
        shop=shop,
        role=role,
        firm=firm,
        is_admin=is_admin,
        made_by=made_by,
        expires_at=timezone.now() + OPEN_FOR,
        **identified(entry_id),
    )


def token_of(invitation):
    return _signer.sign(str(invitation.pk))


def link_of(invitation):
    """The whole address that takes the place: whoever holds it may."""
    return absolute(reverse("shop:invitation", args=[token_of(invitation)]))


@transaction.atomic
def send(invitation):
    """Mail the link, once."""
    mine = Invitation.objects.filter(pk=invitation.pk, mailed_at=None)
    if not mine.update(mailed_at=timezone.now()):
        return
    context = {"invitation": invitation, "link": link_of(invitation)}
    post(
        to=invitation.email,
        subject=f"Invitation to {invitation.shop or invitation.firm}",
        body=render_to_string("shop/invitation.txt", context),
        made_by=invitation.made_by,
        secret=True,
    )


def open_invitation(token):
    """The invitation of a link; raises Refused when it is forged, used, taken back or too old,
    and when whoever sent it may no longer invite."""
    try:
        pk = int(_signer.unsign(token))
    except (signing.BadSignature, ValueError) as error:
        raise Refused(GONE) from error
    found = Invitation.objects.open().select_related("shop", "firm", "made_by").filter(pk=pk)
    invitation = found.first()
    if invitation is None or not _may_invite(invitation):
        raise Refused(GONE)
    return invitation


def _may_invite(invitation):
    if invitation.firm:
        return is_firm_admin(invitation.made_by, invitation.firm)
    return is_owner(invitation.made_by, invitation.shop)


@transaction.atomic
def accept(invitation, user, *, firm=None):
    """Take the place; only one person can, once.

    firm: what a contractor comes from: a `Firm` whose people they look after, or the (name,
    address) of a new one, whose first admin they become.
    """
    now = timezone.now()
    still_open = Invitation.objects.open(now).filter(pk=invitation.pk)
    if not still_open.update(accepted_at=now, accepted_by=user):
        raise Refused(GONE)
    if invitation.firm:
        return join_firm(user, invitation.firm, is_admin=invitation.is_admin)
    if invitation.role != Role.CONTRACTOR:
        return take_role(user, invitation.shop, invitation.role)
    return take_role(user, invitation.shop, invitation.role, firm=_firm_of(user, firm))


def _firm_of(user, firm):
    if isinstance(firm, Firm):
        if not is_firm_admin(user, firm):
            raise Refused(f"Only who looks after the people of {firm} lets it serve a shop.")
        return firm
    name, address = firm
    made = Firm.objects.create(name=name, address=address, email=user.email)
    FirmMembership.objects.create(user=user, firm=made, is_admin=True)
    return made


@transaction.atomic
def revoke(invitation):
    """Take an open invitation back: its link stops working."""
    Invitation.objects.open().filter(pk=invitation.pk).update(revoked_at=timezone.now())
