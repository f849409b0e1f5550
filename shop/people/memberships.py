"""What changes who belongs where: people's places at shops and in firms.

A place is ended, never deleted, so that what somebody wrote keeps its author.
"""

from django.db import transaction
from django.utils import timezone

from shop.web.errors import Refused

from .models import FeedAddress, Firm, FirmMembership, Membership, Role, Shop, SignIn, User

# Roles an owner may turn into one another; a contractor comes through a firm.
OWN_ROLES = (Role.OWNER, Role.OPERATOR)


def is_firm_admin(user, firm):
    """Whether a person looks after the firm's people today; runs SQL."""
    return user.firm_memberships.current().filter(firm=firm, is_admin=True).exists()


def those_who_run(firm):
    """The people who run a firm today: who looks after its people, or all of them where nobody
    does."""
    people = firm.people.current()
    leads = people.filter(is_admin=True)
    chosen = leads if leads.exists() else people
    return User.objects.filter(pk__in=chosen.values("user"), is_active=True).order_by("pk")


def runs_firm(user, firm):
    """Whether a person is one of those who run a firm; of a firm whose people are not on record,
    whoever works for it. Runs SQL."""
    if firm.people.current().exists():
        return those_who_run(firm).filter(pk=user.pk).exists()
    return firm.memberships.current().filter(user=user).exists()


def is_owner(user, shop):
    """Whether a person owns the shop today, or is of the firm that keeps it; runs SQL."""
    place = user.memberships.current().filter(shop=shop).first()
    return place is not None and place.acts_as_owner_of(shop)


def may_end(user, membership):
    """Whether a person may end a place at a shop: the own one, any of the own shop, or one of the
    own firm's people."""
    return (
        membership.user_id == user.pk
        or is_owner(user, membership.shop)
        or (membership.firm_id is not None and is_firm_admin(user, membership.firm))
    )


def served_shops(firm):
    """The shops where the firm has somebody today."""
    current = Membership.objects.current().filter(firm=firm)
    return Shop.objects.filter(pk__in=current.values("shop"))


@transaction.atomic
def take_role(user, shop, role, *, firm=None):
    """Give a person a role at a shop; a contractor becomes one of the firm's people too."""
    if user.memberships.current().filter(shop=shop).exists():
        raise Refused(f"{user.name} belongs to {shop} already; end that first.")
    if role == Role.OWNER:
        _release_to_owner(shop)
    if firm is not None and not user.firm_memberships.current().filter(firm=firm).exists():
        FirmMembership.objects.create(user=user, firm=firm)
    return Membership.objects.create(user=user, shop=shop, role=role, firm=firm)


def _release_to_owner(shop):
    """From the first owner on, owners decide: no firm keeps the shop any more."""
    kept = Shop.objects.select_for_update().get(pk=shop.pk)
    if kept.kept_by_id is None:
        return
    if Shop.objects.filter(name__iexact=kept.name, kept_by=None).exists():
        raise Refused(
            f"Another shop of this site is called {kept.name}. Ask {kept.kept_by} to add the town "
            "to the name, then open this link again."
        )
    kept.kept_by, kept.closed_on, kept.closed_why = None, None, ""
    kept.save(update_fields=["kept_by", "closed_on", "closed_why"])
    shop.kept_by = None


@transaction.atomic
def join_firm(user, firm, *, is_admin=False):
    """Make a person one of the firm's people."""
    if user.firm_memberships.current().filter(firm=firm).exists():
        raise Refused(f"{user.name} belongs to {firm} already.")
    return FirmMembership.objects.create(user=user, firm=firm, is_admin=is_admin)


@transaction.atomic
def place(person, shop, *, firm):
    """Let one of the firm's people serve a shop that the firm serves."""
    Firm.objects.select_for_update().get(pk=firm.pk)
    if not person.firm_memberships.current().filter(firm=firm).exists():
        raise Refused(f"{person.name} does not belong to {firm}.")
    if not served_shops(firm).filter(pk=shop.pk).exists():
        raise Refused(f"{firm} does not serve that shop; its owner invites a firm.")
    return take_role(person, shop, Role.CONTRACTOR, firm=firm)


@transaction.atomic
def end_membership(membership, *, at=None):
    """End a place at a shop at once; raises Refused for the last owner."""
    membership = _locked(membership)
    if membership.ended_at is None:
        _refuse_last_owner(membership)
        _refuse_last_keeper(membership.user, membership.firm_id, shop=membership.shop_id)
        _end(membership, at)
    return membership


@transaction.atomic
def change_role(membership, role):
    """Make an operator an owner, or the other way round; the old place is kept as ended."""
    membership = _locked(membership)
    if role not in OWN_ROLES or membership.role not in OWN_ROLES or membership.ended_at:
        raise Refused("Only owners and operators change places; a contractor comes from a firm.")
    if role == membership.role:
        return membership
    _refuse_last_owner(membership)
    membership.ended_at = timezone.now()
    membership.save(update_fields=["ended_at"])
    return take_role(membership.user, membership.shop, role)


@transaction.atomic
def end_firm_membership(place_in_firm, *, at=None):
    """End a person's place in a firm, and with it their places at the shops it serves."""
    Firm.objects.select_for_update().get(pk=place_in_firm.firm_id)
    place_in_firm = FirmMembership.objects.select_related("user").get(pk=place_in_firm.pk)
    if place_in_firm.ended_at is not None:
        return place_in_firm
    admins = FirmMembership.objects.current().filter(firm=place_in_firm.firm_id, is_admin=True)
    if place_in_firm.is_admin and not admins.exclude(pk=place_in_firm.pk).exists():
        raise Refused(
            f"{place_in_firm.user.name} is the last who looks after the firm's people. "
            "Invite another one for that first."
        )
    user = place_in_firm.user
    _refuse_last_keeper(user, place_in_firm.firm_id)
    at = at or timezone.now()
    user.memberships.current().filter(firm=place_in_firm.firm_id).update(ended_at=at)
    _end(place_in_firm, at)
    return place_in_firm


def _locked(membership):
    """The place as it is now; nobody else at its shop changes until the transaction ends."""
    Shop.objects.select_for_update().get(pk=membership.shop_id)
    return Membership.objects.select_related("user", "shop").get(pk=membership.pk)


def _refuse_last_owner(membership):
    if membership.role != Role.OWNER:
        return
    owners = Membership.objects.current().filter(shop=membership.shop_id, role=Role.OWNER)
    if not owners.exclude(pk=membership.pk).exists():
        raise Refused(
            f"{membership.user.name} is the last owner of {membership.shop}. "
            "Invite another owner first: a shop without one could be looked after by nobody."
        )


def _refuse_last_keeper(user, firm_pk, **where):
    """A shop that a firm keeps is left to somebody of the firm."""
    kept = Shop.objects.filter(kept_by=firm_pk, kept_by__isnull=False)
    mine = user.memberships.current().filter(firm=firm_pk, shop__in=kept, **where)
    for membership in mine.select_related("shop"):
        others = membership.shop.memberships.current().filter(firm=firm_pk)
        if not others.exclude(pk=membership.pk).exists():
            raise Refused(
                f"{user.name} is the last of the firm at {membership.shop}, which has no owner "
                "yet. Let somebody else of the firm serve it first, or invite its owner."
            )


def _end(place, at):
    place.ended_at = at or timezone.now()
    place.save(update_fields=["ended_at"])
    _close_what_is_left(place.user)


def _close_what_is_left(user):
    """Whoever belongs nowhere any more is signed out everywhere and has no calendar address."""
    if user.memberships.current().exists() or user.firm_memberships.current().exists():
        return
    FeedAddress.objects.filter(user=user).delete()
    if not user.is_staff:
        for one in SignIn.objects.filter(user=user).select_related("session"):
            one.session.delete()
