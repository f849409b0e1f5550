"""Standing results for pages: of one shop's records, or of all the shops of one person."""

import functools
import hashlib

from django.db.models import Func, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from shop.access import place_at
from shop.models import Stir
from shop.once import once

from .keeping import ALL, Standing, generations, standing_of


def with_generation(records, shop="shop"):
    """Annotate `generation`: that of the shop that records belong to, as they are read.

    Asked for afterwards it might be newer than the record, and what was worked out from the
    record would be kept as if it were of today.
    """
    stirs = Stir.objects.filter(Q(shop_id=ALL) | Q(shop_id=OuterRef(shop)))
    so_often = stirs.order_by().annotate(sum=Func("times", function="SUM")).values("sum")
    return records.annotate(generation=Coalesce(Subquery(so_often), 0))


def standing_as_read(record, shop):
    """The `Standing` of a shop by a record of it that was read `with_generation`; for the rest of
    the page it is what `standing_now` gives."""
    day = timezone.localdate(timezone=shop.zone)
    return once(("standing", shop.pk), lambda: Standing(shop.pk, record.generation, day))


def standing_now(shop):
    """The `Standing` of a shop; one query, once a page, and none after `standing_as_read`."""
    return once(("standing", shop.pk), lambda: standing_of(shop))


def stands(panel):
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
    places = list(person.memberships.select_related("shop").order_by("pk"))
    current = [place for place in places if place.ended_at is None]
    told = generations(place.shop_id for place in current)
    days = {place.shop_id: timezone.localdate(timezone=place.shop.zone) for place in current}
    state = repr(([place.pk for place in places], [(pk, told[pk], days[pk]) for pk in days]))
    generation = int.from_bytes(hashlib.blake2b(state.encode(), digest_size=8).digest())
    return Standing(f"person-{person.pk}", generation, max(days.values(), default=None))
