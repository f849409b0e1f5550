"""A shop's year: what was and is planned, done and spent in each month."""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from dateutil.relativedelta import relativedelta
from django.conf import settings
from django.db.models import Exists, OuterRef
from django.utils import timezone

from machines.history.downtimes import MachineTimes, records_of, times_in
from machines.register.models import Machine, VisitedMachine
from shop.billing.spending import usual_currency
from shop.hooks import hooks

from .board import due_items
from .models import PlanClosing

NOTHING = Decimal(0)
MONTHS = 12


@dataclass
class Month:
    """One month: how often work was or will be due, done and skipped, and what it costs.

    `planned_cost` is what the plans expect of everything due in the month, and what was agreed
    upon for it: accepted quotes and approved parts. `spent` is what was charged. Both without tax.
    `stopped` is how long machines stood, taken together.
    """

    first: date
    planned: int = 0
    done: int = 0
    skipped: int = 0
    planned_cost: Decimal = NOTHING
    spent: Decimal = NOTHING
    stopped: timedelta = timedelta(0)


@dataclass(frozen=True)
class Year:
    """Twelve months and what they come to. `on_time` and `timed`: how many of what was done and
    had a day were done by that day. Amounts are in `currency`; what was agreed or charged in any
    other is not added in but named, as (currency, amount). `downtimes`: what became of each
    machine's time."""

    months: tuple[Month, ...]
    on_time: int
    timed: int
    never_checked: tuple[Machine, ...]
    unplanned: tuple[Machine, ...]
    currency: str
    agreed_elsewhere: tuple[tuple[str, Decimal], ...]
    spent_elsewhere: tuple[tuple[str, Decimal], ...]
    downtimes: tuple[MachineTimes, ...]

    @property
    def share_on_time(self):
        """In per cent, None before anything with a day was done."""
        return round(100 * self.on_time / self.timed) if self.timed else None

    @property
    def stopped(self):
        return sum((month.stopped for month in self.months), timedelta(0))

    def total(self, name):
        return sum((getattr(month, name) for month in self.months), start=NOTHING)

    @property
    def totals(self):
        return {
            name: self.total(name)
            for name in ("planned", "done", "skipped", "planned_cost", "spent")
        }


def year_of(shop, year, viewer, now=None):
    """The year of a shop, in its own zone, with the money the viewer may see; a fixed number of
    queries."""
    now = now or timezone.now()
    return with_times(*record_of(shop, year, viewer, now), now)


def record_of(shop, year, viewer, now):
    """The year of a shop but for its machines' times, which go on, and what is on record of these:
    (`Year`, list of `MachineRecord`s). The same all day long."""
    machines = Machine.objects.filter(shop=shop)
    months = [Month(date(year, number + 1, 1)) for number in range(MONTHS)]
    closings = list(_closings(shop, year))
    _count_closings(months, closings, shop.zone)
    items = due_items(machines, now=now)
    _count_ahead(months, items, year, now)
    agreed = _asked("agreed costs", shop, year, viewer)
    charged = _asked("spending", shop, year, viewer)
    currency = usual_currency(shop) or next((one for _d, _a, one in charged + agreed), "")
    agreed_elsewhere = _add_up(months, "planned_cost", agreed, currency)
    spent_elsewhere = _add_up(months, "spent", charged, currency)
    done = [closing for closing in closings if _done_in(closing, year, shop.zone)]
    timed = [closing.on_time for closing in done if closing.due_on is not None]
    never_checked, unplanned = _left_out(shop, items, now.astimezone(shop.zone))
    counted = Year(
        months=tuple(months),
        on_time=sum(timed),
        timed=len(timed),
        never_checked=never_checked,
        unplanned=unplanned,
        currency=currency,
        agreed_elsewhere=agreed_elsewhere,
        spent_elsewhere=spent_elsewhere,
        downtimes=(),
    )
    return counted, records_of(machines, months[0].first, MONTHS)


def with_times(year, records, now):
    """A `Year` with its machines' times up to now."""
    downtimes = times_in(records, year.months[0].first, MONTHS, now=now)
    months = [replace(month) for month in year.months]
    _count_stopped(months, downtimes)
    return replace(year, months=tuple(months), downtimes=tuple(downtimes))


def _closings(shop, year):
    """What was due or closed in the year, standing."""
    last = date(year, 12, 31)
    standing = PlanClosing.objects.in_effect().filter(machine__shop=shop)
    touching = standing.filter(due_on__year=year) | standing.filter(
        counted_from__date__range=(
            date(year, 1, 1) - relativedelta(days=1),
            last + relativedelta(days=1),
        )
    )
    return touching.select_related("plan", "machine__shop")


def _done_in(closing, year, zone):
    done = closing.outcome == PlanClosing.Outcome.DONE
    return done and closing.counted_from.astimezone(zone).year == year


def _count_closings(months, closings, zone):
    year = months[0].first.year
    for closing in closings:
        if closing.due_on and closing.due_on.year == year:
            _plan(months, closing.due_on, closing.plan)
        closed = closing.counted_from.astimezone(zone)
        if closed.year == year:
            month = months[closed.month - 1]
            if closing.outcome == PlanClosing.Outcome.DONE:
                month.done += 1
            else:
                month.skipped += 1


def _count_ahead(months, items, year, now):
    for item in items:
        for due in item.until(date(year, 12, 31), now):
            if due.on.year == year:
                _plan(months, due.on, item.plan)


def _plan(months, day, plan):
    month = months[day.month - 1]
    month.planned += 1
    month.planned_cost += plan.cost or NOTHING


def _asked(about, shop, year, viewer):
    """What all sources of a kind say of the year: (day, amount, currency)."""
    first, last = date(year, 1, 1), date(year, 12, 31)
    sources = hooks(settings.MONEY_SOURCES, about=about)
    return [entry for source in sources for entry in source(shop, first, last, viewer)]


def _add_up(months, name, entries, currency):
    """Add amounts of one currency to their months; what there is of others, as sorted pairs."""
    others = defaultdict(lambda: NOTHING)
    for day, amount, its_own in entries:
        if its_own == currency:
            month = months[day.month - 1]
            setattr(month, name, getattr(month, name) + amount)
        else:
            others[its_own] += amount
    return tuple(sorted(others.items()))


def _count_stopped(months, downtimes):
    for row in downtimes:
        for month, times in zip(months, row.times.months, strict=True):
            month.stopped += times.total_stopped


def _left_out(shop, items, now):
    """Machines in service that were never checked, and those nothing is planned for; two queries.

    Checked means visited, or a planned piece of work done.
    """
    done = PlanClosing.objects.in_effect().filter(machine=OuterRef("pk"), outcome="done")
    visited = VisitedMachine.objects.filter(machine=OuterRef("pk"), visit__arrived_at__isnull=False)
    machines = Machine.objects.filter(shop=shop).in_service(now.date()).order_by("number")
    never = machines.filter(~Exists(done), ~Exists(visited))
    planned = {item.machine.pk for item in items}
    return tuple(never), tuple(machine for machine in machines if machine.pk not in planned)
