"""Results kept in the cache under the generation of the records they were worked out from."""

import hashlib
import time
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from django.core.cache import caches
from django.db import connection, transaction
from django.db.models import Func, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from shop.web.request_memo import stale

from . import rule
from .models import ChangeCounter, RefreshState

ALL = 0
# More transactions than these of one shop are merged into one row.
MOST_ROWS = 200
_NONE = object()

# On PostgreSQL only those that everybody sees by now: the others are counted for some and not yet
# for others. In one statement, so that nobody sees them twice or not at all.
MERGE = """
WITH old AS (
  DELETE FROM shop_stir WHERE shop_id = ANY (%s) AND xact > 0
  AND xact < pg_snapshot_xmin(pg_current_snapshot())::text::bigint RETURNING shop_id, times
)
INSERT INTO shop_stir (shop_id, xact, times) SELECT shop_id, 0, sum(times) FROM old GROUP BY shop_id
ON CONFLICT (shop_id, xact) DO UPDATE SET times = shop_stir.times + excluded.times
"""


@dataclass(frozen=True)
class Snapshot:
    """The records of a shop, or of several, as they are at one generation, on one day."""

    shop: int | str
    generation: int | str
    day: date | None

    def keep(self, work, *about):
        """What `work()` comes to, kept until something changes at the shop or the day ends.

        about: what else the result depends on, such as a machine's key or a length unit; a
        person's rights and other shops' records are not seen to here. The result must be what
        can be pickled, and hold nothing that changes within a day or is good once only, such as a
        form's token. Inside a transaction nothing is kept: it may yet be undone.
        """
        if _may_be_undone():
            return work()
        cache = caches["standing"]
        key = _digest((rule.VERSION, self.shop, self.generation, self.day, *about))
        found = cache.get(key, _NONE)
        if found is _NONE:
            stale_before = len(stale())
            found = work()
            # What was made of rows that could not be brought up to date is not of this generation.
            if len(stale()) == stale_before:
                cache.set(key, found)
        return found


def standing_of(shop):
    """The `Standing` of a shop now; one query."""
    day = shop.today
    return Snapshot(shop.pk, generations([shop.pk])[shop.pk], day)


def standing_of_all(shops):
    """The `Standing` of shops (a queryset) taken together; two queries.

    For what cannot be put together from each shop's own: it is worked out anew once anything
    changes at any of them.
    """
    return standing_of_zones(dict(shops.order_by("pk").values_list("pk", "time_zone")))


def standing_of_zones(zones, *about):
    """The `Standing` of shops taken together, from {key: name of its zone}; one query.

    about: what it goes by besides.
    """
    counts = generations(zones)
    days = {zone: timezone.localdate(timezone=ZoneInfo(zone)) for zone in {*zones.values()}}
    told = [(pk, counts[pk], days[zone]) for pk, zone in zones.items()]
    return Snapshot("several", _digest([*told, *about]), max(days.values(), default=None))


def with_generation(records, shop="shop"):
    """Annotate `generation`: that of the shop that records belong to, as they are read.

    Asked for afterwards it might be newer than the record, and what was worked out from the
    record would be kept as if it were of today.
    """
    stirs = ChangeCounter.objects.filter(Q(shop_id=ALL) | Q(shop_id=OuterRef(shop)))
    so_often = stirs.order_by().annotate(sum=Func("times", function="SUM")).values("sum")
    return records.annotate(generation=Coalesce(Subquery(so_often), 0))


def generations(shops):
    """{shop's key: its generation} of the keys of shops; one query."""
    wanted = set(shops)
    found = dict.fromkeys((ALL, *wanted), 0)
    stirs = ChangeCounter.objects.filter(shop_id__in=list(found)).order_by().values("shop_id")
    for row in stirs.annotate(so_often=Sum("times")).values_list("shop_id", "so_often"):
        found[row[0]] = row[1]
    return {pk: found[pk] + found[ALL] for pk in wanted}


def merge(shops):
    """Merge the rows of many transactions at shops into one each; the generations stay."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(MERGE, [[ALL, *shops]])


def forget():
    """Nothing that was worked out stands any longer; for a database that was put back.

    The count goes on from the time of day, in seconds: higher than any that was told before.
    """
    with transaction.atomic():
        RefreshState.objects.all().delete()
        ChangeCounter.objects.all().delete()
        ChangeCounter.objects.create(shop_id=ALL, xact=0, times=int(time.time()))


def _digest(parts):
    return hashlib.sha256("\n".join(map(str, parts)).encode()).hexdigest()


def _may_be_undone():
    """Whether a transaction is open; that around a test is none of the site's."""
    return any(not getattr(block, "_from_testcase", False) for block in connection.atomic_blocks)
