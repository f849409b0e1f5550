"""Whom the money of a visit concerns."""

from django.db import models
from django.db.models import Q

from .people import Membership, Role


def billed_to(user, *, shop="shop", firm="firm"):
    """Condition for what `user` may see of money: a shop's owner all of the shop's, a contractor
    only the own firm's."""
    mine = Membership.objects.current().filter(user=user)
    at_shop = mine.filter(shop=models.OuterRef(shop))
    return models.Exists(
        at_shop.filter(Q(role=Role.OWNER) | Q(role=Role.CONTRACTOR, firm=models.OuterRef(firm)))
    )
