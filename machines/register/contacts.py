"""Who looks after a machine, and whom somebody at it can call."""

from dataclasses import dataclass

from shop.people.models import Firm, Role, User

from .models import VisitedMachine


@dataclass(frozen=True)
class Contact:
    """Somebody to call: who, the number, and whom to ask for."""

    name: str
    phone: str
    ask_for: str = ""


def serving_firms(shop):
    """The firms that have somebody at a shop today, a queryset."""
    current = shop.memberships.current().filter(role=Role.CONTRACTOR)
    return Firm.objects.filter(pk__in=current.values("firm")).order_by("pk")


def firm_looking_after(machine):
    """The firm, of those that serve the shop, that was at the machine last; the only one where it
    was never visited, else None; at most two queries."""
    firms = {firm.pk: firm for firm in serving_firms(machine.shop)}
    visited = VisitedMachine.objects.filter(machine=machine, visit__firm__in=firms)
    last = visited.order_by("-visit__made_at", "-pk").values_list("visit__firm", flat=True).first()
    if last is not None:
        return firms[last]
    return next(iter(firms.values())) if len(firms) == 1 else None


def contractors_looking_after(machine):
    """The people to tell of a machine: of the firm that looks after it, else of every firm that
    serves the shop."""
    at_shop = machine.shop.memberships.current().filter(role=Role.CONTRACTOR)
    firm = firm_looking_after(machine)
    if firm is not None:
        at_shop = at_shop.filter(firm=firm)
    return User.objects.filter(memberships__in=at_shop).distinct()


def contacts_of(shop, machine=None):
    """Whom to call at a shop: its own number, then the firm that looks after the machine, else
    each firm that serves the shop; those without a number are left out."""
    if machine is None:
        firms = list(serving_firms(shop))
    else:
        firm = firm_looking_after(machine)
        firms = [firm] if firm else list(serving_firms(shop))
    own = Contact(shop.name, shop.phone, shop.contact)
    return [one for one in (own, *(Contact(f.name, f.phone) for f in firms)) if one.phone]
