"""The drift of an item as it stands until something changes, for its page and its pictures."""

from shop.people.models import Shop
from shop.snapshots import standing_of_all

from .estimates import drift_of_item


def standing_drift(item, user):
    """The `ItemDrift` of one item as `drift_of_item` gives it; two queries while nothing changes at
    the shops the person sees, whose machines may lend."""
    standing = standing_of_all(Shop.objects.visible_to(user))
    return standing.keep(lambda: drift_of_item(item, user), "drift of item", item.pk)
