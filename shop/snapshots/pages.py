"""Standing results for pages: of one shop's records, or of all the shops of one person."""

import functools

from shop.people.access import place_at
from shop.web.request_memo import request_memo

from .keeping import Snapshot, standing_of, standing_of_zones


def standing_as_read(record, shop):
    """The `Standing` of a shop by a record of it that was read `with_generation`; for the rest of
    the page it is what `standing_now` gives."""
    day = shop.today
    return request_memo(("standing", shop.pk), lambda: Snapshot(shop.pk, record.generation, day))


def standing_now(shop):
    """The `Standing` of a shop; one query, once a page, and none after `standing_as_read`."""
    return request_memo(("standing", shop.pk), lambda: standing_of(shop))


def cached_panel(panel):
    """Decorate a panel of a machine's or a visit's page that may stand until its shop's records
    change or the day ends.

    What it shows may go by the place that the person has at the shop and by their length unit, and
    by nothing else of the request.
    """
    name = f"{panel.__module__}.{panel.__name__}"

    @functools.wraps(panel)
    def standing_panel(record, request):
        place = place_at(request.user, record.shop_id)
        whose = (place and place.role, place and place.firm_id, request.user.length_unit)
        standing = standing_now(record.shop)
        return standing.keep(lambda: panel(record, request), name, record.pk, *whose)

    return standing_panel


def standing_for(person):
    """The `Standing` of the records of all shops that a person belongs to today, for results about
    that person; two queries.

    It goes by places that were ended too: whoever came and went since is not taken for one who
    never came.
    """
    places = person.memberships.order_by("pk").values_list(
        "pk", "shop", "shop__time_zone", "ended_at"
    )
    zones = {shop: zone for _pk, shop, zone, ended_at in places if ended_at is None}
    return standing_of_zones(zones, person.pk, [pk for pk, *_place in places])
