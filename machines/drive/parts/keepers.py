"""Who keeps parts, and which registers a person may write in."""

from dataclasses import dataclass

from django.db.models import F, Q

from machines.drive.models import Part
from shop.people.models import Firm, Role, Shop


@dataclass(frozen=True)
class Keeper:
    """A shop or a firm with a register of parts; `key` names it in forms and addresses."""

    shop: Shop | None = None
    firm: Firm | None = None

    @property
    def key(self):
        return f"shop-{self.shop.pk}" if self.shop else f"firm-{self.firm.pk}"

    @property
    def name(self):
        return str(self.shop or self.firm)

    @property
    def owns(self):
        """The fields of a part that say it is this keeper's."""
        return {"shop": self.shop, "firm": self.firm}

    def parts(self):
        return Part.objects.filter(**self.owns)


def keepers_for(user):
    """The registers a person may write in: shops they own, the firm they work for."""
    current = user.memberships.current().select_related("shop", "firm")
    shops = {one.shop for one in current if one.acts_as_owner_of(one.shop)}
    firms = {one.firm for one in current if one.role == Role.CONTRACTOR}
    return [
        *(Keeper(firm=firm) for firm in sorted(firms, key=str)),
        *(Keeper(shop=shop) for shop in sorted(shops, key=str)),
    ]


def may_write(user, part):
    """Whether a person may change a part; runs SQL."""
    current = user.memberships.current()
    return current.filter(
        Q(role=Role.OWNER, shop=part.shop_id)
        | Q(role=Role.CONTRACTOR, firm=part.firm_id)
        | Q(shop=part.shop_id, firm=F("shop__kept_by"))
    ).exists()
