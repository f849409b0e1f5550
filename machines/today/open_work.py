"""All that is promised and not finished, by kinds: one list, the oldest first.

Each kind is a queryset and the line that tells of one of its records; what the first page tells of
the same is made of the same two. One query puts the kinds together, one fetches those of each kind
that stand on the page.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

from django.core.paginator import Paginator
from django.db.models import DateField, F, IntegerField, OuterRef, Q, Subquery, Value
from django.db.models.functions import Cast, TruncDate
from django.urls import reverse
from django.utils import timezone

from machines.drive.models import Recommendation, RecommendationStep
from shop.billing.models import Quote
from shop.calendar.models import Proposal
from shop.people.days import by_shops_day
from shop.visits.models import Visit
from shop.web.today import LINES, Block, Line, age_text, counted, short_day

from . import contractor
from .places import CONTRACTOR, phone_of, shops_as

PAGE_SIZE = 50
State = RecommendationStep.State
# A quote is spoken of when it lapses within a week, and as long after it lapsed.
NEAR_ITS_END = timedelta(days=7)


@dataclass(frozen=True)
class Kind:
    """One kind of open work: what it is called, its records for a person, since when one of them
    has been open (a date or a moment), the way to its shop, and the line that tells of one."""

    key: str
    title: str
    records: Callable
    since: str
    line: Callable
    shop: str = "shop"

    def rows(self, place, user, shop):
        """(day, place of the kind, pk) of its records, at one shop or at all."""
        found = self.records(user)
        if shop is not None:
            found = found.filter(**{self.shop: shop})
        day = Cast(TruncDate(self.since), DateField()) if self._is_moment else F(self.since)
        found = found.order_by().annotate(open_day=day, open_kind=Value(place, IntegerField()))
        return found.values_list("open_day", "open_kind", "pk")

    @property
    def _is_moment(self):
        return not self.since.endswith(("_on", "until"))


def _advice(state):
    def records(user):
        shops = shops_as(user, CONTRACTOR)
        found = Recommendation.objects.filter(machine__shop__in=shops).standing_at(state)
        ahead = Visit.objects.unsigned().worked_by(user).filter(shop=OuterRef("machine__shop"))
        ahead = ahead.order_by("planned_for", "pk")
        return found.select_related("machine__shop", "part").annotate(
            again=Subquery(ahead.values("pk")[:1])
        )

    return records


ACTIONS = {
    State.APPROVED: "Order it",
    State.ORDERED: "Mark it arrived",
    State.ARRIVED: "Plan a visit",
}


def _advice_line(advice):
    machine, shop = advice.machine, advice.machine.shop
    address = advice.get_absolute_url()
    action, leads = ACTIONS[advice.stands_at], address
    if advice.stands_at == State.ARRIVED:
        leads = reverse("machines:open_visit", args=[machine.pk])
        if advice.again:
            action, leads = "Open visit", reverse("shop:visit", args=[advice.again])
    return Line(
        what=f"{advice.quantity} × {advice.part or advice.what}",
        url=address,
        where=f"{shop}, machine {machine.number}",
        since=age_text(timezone.localdate(advice.stood_since, timezone=shop.zone), shop.today),
        why=advice.urgency_words,
        action=action,
        action_url=leads,
    )


def _proposals(user):
    found = Proposal.objects.visible_to(user).open().filter(shop__in=shops_as(user, CONTRACTOR))
    return found.select_related("shop").prefetch_related("days")


def _proposal_line(proposal):
    line = contractor.ask_line(proposal)
    if proposal.state == Proposal.State.WITH_CONTRACTOR:
        return line
    return replace(line, why=f"Waits for the owner: {proposal.purpose}", action="Open")


def _lapsing(user):
    firms = user.memberships.current().filter(role=CONTRACTOR).values("firm")
    found = Quote.objects.visible_to(user).filter(firm__in=firms).with_open_items().waiting()
    near = found.filter(
        by_shops_day(lambda day: Q(valid_until__range=(day - NEAR_ITS_END, day + NEAR_ITS_END)))
    )
    return near.select_related("shop")


def _quote_line(quote):
    today, shop = quote.shop.today, quote.shop
    ends = "lapsed" if quote.valid_until < today else "lapses"
    return Line(
        what=f"Quote {quote.number}",
        url=quote.get_absolute_url(),
        where=str(shop),
        since=age_text(quote.issued_on, today),
        why=f"{ends} {short_day(quote.valid_until, today)} · {quote.open_items} not answered",
        phone=phone_of(shop),
        action="Open",
        action_url=quote.get_absolute_url(),
    )


def _owed_by_now(user):
    return contractor.owed(user).filter(by_shops_day(lambda day: Q(due_on__lte=day)))


KINDS = (
    Kind("calls", "Rang", contractor.calls_noted, "rang_at", contractor.call_line),
    Kind(
        "crashes",
        "Crash, not looked at",
        contractor.crashes_new,
        "happened_at",
        contractor.crash_line,
        "machine__shop",
    ),
    Kind("promised", "Come back for", contractor.promises, "signed_at", contractor.promise_line),
    Kind(
        "to-order",
        "Approved, not ordered",
        _advice(State.APPROVED),
        "stood_since",
        _advice_line,
        "machine__shop",
    ),
    Kind(
        "on-order",
        "Ordered, not arrived",
        _advice(State.ORDERED),
        "stood_since",
        _advice_line,
        "machine__shop",
    ),
    Kind(
        "to-fit",
        "Arrived, not fitted",
        _advice(State.ARRIVED),
        "stood_since",
        _advice_line,
        "machine__shop",
    ),
    Kind("proposals", "Days proposed, no answer", _proposals, "made_at", _proposal_line),
    Kind("to-bill", "Signed, not billed", contractor.unbilled, "signed_at", contractor.bill_line),
    Kind("owed", "Due and not paid", _owed_by_now, "due_on", contractor.late_line),
    Kind("lapsing", "Quotes about to lapse", _lapsing, "issued_on", _quote_line),
)
KEYS = [kind.key for kind in KINDS]


def open_rows(user, *, shop=None, kind=""):
    """(day, place among KINDS, pk) of all that is open, the oldest first; one query when read.

    shop: of that one alone; kind: the key of one, "" for all.
    """
    chosen = [(place, one) for place, one in enumerate(KINDS) if kind in ("", one.key)]
    first, *others = [one.rows(place, user, shop) for place, one in chosen]
    return first.union(*others, all=True).order_by("open_day", "open_kind", "pk")


def lines_of(user, rows):
    """[(kind, line)] of rows that `open_rows` gave; one query for each kind among them."""
    told = {}
    for place, kind in enumerate(KINDS):
        if pks := [pk for _day, at, pk in rows if at == place]:
            found = kind.records(user).filter(pk__in=pks)
            told |= {(place, record.pk): kind.line(record) for record in found}
    return [(KINDS[at], told[at, pk]) for _day, at, pk in rows if (at, pk) in told]


def page_of_open(user, number, **narrowed):
    """The page of `open_rows` asked for, its lines in `object_list`."""
    page = Paginator(open_rows(user, **narrowed), PAGE_SIZE).get_page(number)
    page.object_list = _titled(lines_of(user, list(page.object_list)))
    return page


def _titled(told):
    """Lines with what kind each is of."""
    return [
        replace(line, why=" · ".join(filter(None, (kind.title, line.why)))) for kind, line in told
    ]


def all_open(user, most=LINES):
    """What has been open longest, and how much there is of all."""
    rows = open_rows(user)
    shown = list(rows[:most])
    return Block(
        "open",
        "Open",
        lines=tuple(_titled(lines_of(user, shown))),
        count=counted(rows, shown, most),
        more_url=reverse("machines:open_work"),
        folded=True,
        empty="Nothing is open: all that was promised is finished.",
    )
