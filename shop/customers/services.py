"""What changes a firm's customers."""

from django.db import transaction
from django.db.models import Q

from shop.billing.models import Customer
from shop.people.models import Firm, Membership, Role, Shop
from shop.web.errors import Refused

HERE_ALREADY = (
    "A shop called so has owners on this site. If it is your customer, ask an owner to invite your "
    "firm. If it is another shop, add the town to its name."
)


def one_blank(name):
    """A name with single blanks, as it is kept and compared."""
    return " ".join(name.split())


@transaction.atomic
def make_customer(shop, *, firm, made_by, notes="", tax=None):
    """Make a shop that the firm keeps until an owner accepts an invitation.

    shop: an unsaved `Shop`. Raises Refused for a name that another customer of the firm has, or a
    shop with owners; of that shop nothing else is told.
    """
    Firm.objects.select_for_update().get(pk=firm.pk)
    shop.name = one_blank(shop.name)
    refuse_name_taken(shop.name, firm=firm)
    shop.kept_by = firm
    shop.save()
    Membership.objects.create(user=made_by, shop=shop, role=Role.CONTRACTOR, firm=firm)
    note_customer(firm, shop, notes=notes, tax=tax)
    return shop


def refuse_name_taken(name, *, firm, besides=None):
    """Raise Refused when a customer of the firm, or a shop with owners, is called so."""
    same = Shop.objects.filter(name__iexact=name).exclude(pk=besides and besides.pk)
    served = Q(memberships__firm=firm, memberships__ended_at=None)
    if firm is not None and same.filter(served | Q(kept_by=firm)).exists():
        raise Refused(f"{name} is a customer of {firm} already; open it, or add the town here.")
    if same.filter(kept_by=None).exists():
        raise Refused(HERE_ALREADY)


def note_customer(firm, shop, *, notes, tax):
    """Keep the firm's own notes on a shop and the tax category it is charged by."""
    return Customer.objects.update_or_create(
        firm=firm, shop=shop, defaults={"notes": notes, "tax": tax}
    )[0]


@transaction.atomic
def change_shop(shop):
    """Save what was changed of a shop (a `Shop` with the new values)."""
    stands = Shop.objects.select_for_update().get(pk=shop.pk)
    shop.name = one_blank(shop.name)
    if shop.name.casefold() != stands.name.casefold():
        refuse_name_taken(shop.name, firm=stands.kept_by, besides=shop)
    shop.save()
    return shop


@transaction.atomic
def close_customer(shop, *, why):
    """Close a customer that the firm keeps: nothing falls due there and no visit is opened; the
    record stays, and the customer can be opened again."""
    shop = Shop.objects.select_for_update().get(pk=shop.pk)
    if shop.kept_by_id is None:
        raise Refused(f"{shop} has owners; a firm that no longer serves it ends its own places.")
    if shop.closed_on is not None:
        raise Refused(f"{shop} is closed already.")
    if not why.strip():
        raise Refused("Say why it is closed; it stands on the customer's page.")
    shop.closed_on = shop.today
    shop.closed_why = why.strip()
    shop.save(update_fields=["closed_on", "closed_why"])
    return shop


@transaction.atomic
def reopen_customer(shop):
    """Open a closed customer again."""
    shop = Shop.objects.select_for_update().get(pk=shop.pk)
    shop.closed_on, shop.closed_why = None, ""
    shop.save(update_fields=["closed_on", "closed_why"])
    return shop
