"""Who may do what: strangers get 404, readers without the right to write get 403."""

from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404

from shop.web.request_memo import request_memo

from .models import Role, Shop

ANYONE = frozenset(Role)
OWNER = frozenset({Role.OWNER})
CONTRACTOR = frozenset({Role.CONTRACTOR})
DESK = frozenset({Role.OWNER, Role.CONTRACTOR})


def place_at(user, shop_pk):
    """The person's `Membership` at a shop today, None when they are no member; runs SQL, once a
    page."""
    return request_memo(
        ("place", user.pk, shop_pk),
        lambda: user.memberships.current().filter(shop=shop_pk).first(),
    )


def role_at(user, shop):
    """The person's role at `shop`, None when they are no member; runs SQL as `place_at`."""
    place = place_at(user, shop.pk)
    return Role(place.role) if place else None


def firm_at(user, shop):
    """The pk of the firm the person comes from at `shop`, None for its own people; runs SQL as
    `place_at`."""
    place = place_at(user, shop.pk)
    return place and place.firm_id


def demand(user, shop, roles):
    """Raise PermissionDenied (403) unless the person has one of `roles` at `shop`."""
    if role_at(user, shop) not in roles:
        raise PermissionDenied


def owns(user, shop):
    """Whether the person may do what the shop's owners do: as one of them, or as one of the firm
    that keeps the shop until an owner comes; runs SQL as `place_at`."""
    place = place_at(user, shop.pk)
    return place is not None and place.acts_as_owner_of(shop)


def demand_owner(user, shop):
    """Raise PermissionDenied (403) unless the person `owns` the shop. What only an owner can
    answer, such as a quote, asks for the role instead: the firm writes down what it was told."""
    if not owns(user, shop):
        raise PermissionDenied


def works_at(user, visit):
    """Whether the person works at the visit's shop for the visit's own firm; runs SQL as
    `place_at`."""
    place = place_at(user, visit.shop_id)
    return place is not None and place.role in CONTRACTOR and place.firm_id == visit.firm_id


def may_enter(user, visit):
    """Whether the person may still enter work at the visit; runs SQL as `place_at`."""
    return not visit.is_signed and works_at(user, visit)


def demand_work(user, visit):
    """Raise PermissionDenied (403) unless the person `works_at` the visit: no firm begins, signs or
    corrects another's, nor enters anything at it."""
    if not works_at(user, visit):
        raise PermissionDenied


def find(queryset, user, **lookup):
    """The one record of `queryset` the person may see, else Http404."""
    return get_object_or_404(queryset.visible_to(user), **lookup)


def invites(user, place):
    """Whether the person is one of those who invite to a shop; to a firm, all its people see."""
    return not isinstance(place, Shop) or owns(user, place)
