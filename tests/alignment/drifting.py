"""Visits over the years at which one item was found and left where a test says."""

from datetime import datetime, time, timedelta

from django.utils import timezone

from alignment.adjusting.services import record_adjustment
from alignment.sweeps.services import save_check
from shop.people.models import Membership
from tests import factories


def day(days_ago, clock=9):
    """A moment on the day that was so long ago, in the zone tests are run in."""
    when = factories.today() - timedelta(days=days_ago)
    return timezone.make_aware(datetime.combine(when, time(clock)))


def seen(item, days_ago, found=None, left=None, *, moved=None, arrived=None, u_um="0.5"):
    """A visit at which an item was found and left at (right, up) in µm, or not measured.

    moved: whether its station was adjusted; left out, it was where it was left elsewhere.
    arrived: days ago, where the clock of the checks went otherwise.
    """
    machine = item.station.machine
    work = Membership.objects.get(shop=machine.shop, firm__isnull=False)
    visit = factories.VisitFactory(
        shop=machine.shop,
        firm=work.firm,
        contractor=work.user,
        arrived_at=day(days_ago if arrived is None else arrived, 8),
    )
    given = {"visit": visit, "made_by": work.user}
    if found is not None:
        _check(item, "as found", found, u_um, made_at=day(days_ago, 9), **given)
    if moved or (moved is None and left is not None and found is not None):
        record_adjustment(station=item.station, what="set over", made_at=day(days_ago, 10), **given)
    if left is not None:
        _check(item, "as left", left, u_um, made_at=day(days_ago, 11), **given)
    return visit


def _check(item, phase, vector_um, u_um, **given):
    sweep = factories.typed_sweep(*vector_um, surface=item.surface, u_um=u_um)
    save_check(item=item, phase=phase, sweep=sweep, **given)


def steady(item, *, rate_um=3.0, years=4, last=30, scatter=(0.2, -0.3, 0.1, 0.3, -0.2, 0.0)):
    """Yearly visits, each leaving the item at (1, 0), at which it had moved right at a rate."""
    for number in range(years + 1):
        found = None if number == 0 else (1 + rate_um + scatter[number % len(scatter)], 0.2)
        seen(item, last + 365 * (years - number), found, (1.0, 0.0), moved=number > 0)


def knock(machine, days_ago, **more):
    """A crash; nobody said which stations."""
    given = {"happened_at": day(days_ago, 12), "made_at": day(days_ago, 12)}
    return factories.IncidentFactory(machine=machine, **(given | more))
