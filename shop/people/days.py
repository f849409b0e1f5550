"""Which day it is at each record's shop, asked of the database without a query of its own."""

import zoneinfo
from collections import defaultdict
from functools import cache

from django.db.models import Q
from django.utils import timezone

ZONES = cache(zoneinfo.available_timezones)


def by_shops_day(build, shop="shop"):
    """A `Q` that is `build(day)` for the records at whose shop it is that day now.

    build: function (date) -> Q. shop: the lookup from a record to its shop. There are two days on
    earth at most moments: that of UTC, and that of the zones named for another.
    """
    now = timezone.now()
    others = defaultdict(list)
    for zone in ZONES():
        day = now.astimezone(zoneinfo.ZoneInfo(zone)).date()
        if day != now.date():
            others[day].append(zone)
    zone = f"{shop}__time_zone__in"
    elsewhere = [one for zones in others.values() for one in zones]
    found = build(now.date()) & ~Q(**{zone: elsewhere})
    for day, zones in others.items():
        found |= build(day) & Q(**{zone: zones})
    return found
