"""What an owner asks in the morning: what stands, what waits for an answer, what will be due. Each
panel runs a fixed number of queries however many machines there are."""

from datetime import timedelta
from decimal import Decimal

from django.db.models import Count, Exists, OuterRef, Q, Subquery, Sum
from django.urls import reverse
from django.utils import timezone
from django.utils.text import capfirst

from machines.drive.models import Recommendation
from machines.engineering.due import BUCKETS
from machines.incidents.models import Incident
from machines.planning.due_times import items_of, standing_dues
from machines.planning.visit_planning import key_of
from machines.register.models import Machine, Standstill
from shop.billing.models import Quote
from shop.calendar.models import Proposal
from shop.people.models import ToldAnswer
from shop.visits.models import Visit
from shop.web.amounts import money_text
from shop.web.request_memo import request_memo
from shop.web.today import LINES, Block, Line, age_text, short_day

from .places import OWNER, shops_as, with_next_visit

A_MONTH = timedelta(days=31)
# More than so many things to answer are counted, and not put in order with the rest.
MOST_ASKED = 200
# So many lines fit a phone's first screen, with what is due.
OPEN_LINES = 4


def _all(key):
    return f"{reverse('machines:open')}?of={key}"


# ---- what stands ----


def stands(user, most=LINES):
    """As `_ask_stands`; asked once a page."""
    return request_memo(("stands", user.pk, most), lambda: _ask_stands(user, most))


def _ask_stands(user, most):
    """Machines that stand, and those left running with a crash nobody looked at: since when, why,
    and who comes when."""
    found = _in_trouble(user)
    shown = list(found[:most])
    causes = Incident.objects.in_bulk({one.cause or one.newest for one in shown} - {None})
    return Block(
        "stands",
        "What stands",
        lines=tuple(_trouble(one, causes.get(one.cause or one.newest)) for one in shown),
        count=found.count(),
        more_url=_all("stands"),
        empty="Every machine may run, and no crash waits to be looked at.",
    )


def _in_trouble(user):
    new = Incident.objects.filter(machine=OuterRef("pk"), state=Incident.State.LOGGED)
    new = new.order_by("-happened_at")
    stop = Standstill.objects.filter(machine=OuterRef("pk"), ended_at=None)
    asked = Proposal.objects.open().filter(shop=OuterRef("shop"))
    machines = Machine.objects.filter(shop__in=shops_as(user, OWNER))
    machines = with_next_visit(machines.with_stop_state(), Visit.objects.all())
    machines = machines.annotate(
        waits=Exists(new),
        cause=Subquery(stop.values("incident")[:1]),
        newest=Subquery(new.values("pk")[:1]),
        asked=Subquery(asked.order_by("-made_at").values("pk")[:1]),
    )
    return (
        machines.filter(Q(stopped=True) | Q(waits=True))
        .select_related("shop")
        .order_by("-stopped", "stopped_at", "number")
    )


def _trouble(machine, cause):
    today = machine.shop.today
    return Line(
        what=f"Machine {machine.number}",
        url=machine.get_absolute_url(),
        where=machine.name,
        badge="stopped" if machine.is_stopped else "crash, left running",
        since=_since(machine, today),
        why=f"{capfirst(cause) if cause else 'Why was not said'} · {_who_comes(machine, today)}",
        **_next_step(machine),
    )


def _since(machine, today):
    if not machine.is_stopped:
        return ""
    moment = machine.stopped_since.astimezone(machine.shop.zone)
    return f"{short_day(moment.date(), today)} {moment:%H:%M}"


def _who_comes(machine, today):
    if machine.coming:
        on = f" {short_day(machine.coming_on, today)}" if machine.coming_on else ""
        return f"{machine.coming_from} comes{on}"
    return "asked for a visit" if machine.asked else "nobody is coming yet"


def _next_step(machine):
    if machine.coming:
        address = reverse("shop:visit", args=[machine.coming])
        return {"action": "Open visit", "action_url": address}
    if machine.asked:
        address = reverse("machines:proposal", args=[machine.asked])
        return {"action": "See answer", "action_url": address}
    address = reverse("machines:propose", args=[machine.shop_id])
    return {"action": "Ask for a visit", "action_url": f"{address}?machine={machine.pk}"}


# ---- what waits for my answer ----


def waiting(user, most=None):
    """As `_ask_waiting`; asked once a page."""
    return request_memo(("waiting", user.pk, most), lambda: _ask_waiting(user, most))


def _ask_waiting(user, most):
    """Quotes, advice, days proposed and answers told, each with its price where it has one."""
    own = shops_as(user, OWNER)
    most = most or max(OPEN_LINES - len(stands(user).lines), 1)
    asked = [*_quotes(user, own), *_days(user, own), *_advice(own), *_told(user)]
    return Block(
        "waiting",
        "Waits for your answer",
        lines=tuple(asked[:most]),
        count=len(asked),
        more_url=_all("waiting"),
        empty="Nothing waits for your answer.",
    )


def _quotes(user, own):
    quotes = Quote.objects.visible_to(user).filter(shop__in=own).with_open_items().waiting()
    for quote in quotes.select_related("shop")[:MOST_ASKED]:
        today = quote.shop.today
        ends = "lapsed" if quote.valid_until < today else "holds until"
        yield Line(
            what=f"Quote {quote.number}: {money_text(quote.gross, quote.currency)}",
            url=quote.get_absolute_url(),
            since=age_text(quote.issued_on, today),
            why=f"{quote.open_items} to answer · {ends} {short_day(quote.valid_until, today)}",
            action="Answer",
            action_url=quote.get_absolute_url(),
        )


def _days(user, own):
    found = Proposal.objects.visible_to(user).filter(state=Proposal.State.WITH_OWNER, shop__in=own)
    for proposal in found.select_related("shop", "firm")[:MOST_ASKED]:
        yield Line(
            what=f"{proposal.firm} proposes another day",
            url=proposal.get_absolute_url(),
            why=proposal.purpose,
            action="Answer",
            action_url=proposal.get_absolute_url(),
        )


def _advice(own):
    """What was advised and nobody decided, that stands in no quote that waits."""
    quoted = Quote.objects.with_open_items().waiting().order_by().values("pk")
    found = Recommendation.objects.open().filter(machine__shop__in=own, steps__isnull=True)
    found = found.select_related("machine__shop", "part").most_urgent_first()
    in_quotes = set(
        Quote.objects.filter(pk__in=quoted, shop__in=own).values_list("items__source", flat=True)
    )
    for advice in found[:MOST_ASKED]:
        if f"recommendation {advice.pk}" in in_quotes:
            continue
        price = advice.part and advice.part.price
        shop = advice.machine.shop
        cost = money_text(price * advice.quantity, shop.currency) if price and shop.currency else ""
        yield Line(
            what=advice.what,
            url=advice.get_absolute_url(),
            where=f"machine {advice.machine.number}",
            since=age_text(advice.made_at.astimezone(shop.zone).date(), shop.today),
            why=f"{advice.urgency_words}{f' · part {cost}' if cost else ''}",
            action="Decide",
            action_url=advice.get_absolute_url(),
        )


def _told(user):
    found = ToldAnswer.objects.waiting_for(user).select_related("shop")
    for told in found.order_by("made_at", "pk")[:MOST_ASKED]:
        address = reverse("shop:told_answer", args=[told.pk])
        yield Line(
            what=told.what,
            url=address,
            since=age_text(told.told_on, told.shop.today),
            why="Answers entered for you: confirm it, or object",
            action="Answer",
            action_url=address,
        )


# ---- what was promised to me ----


def still_to_come(user, most=LINES):
    """What visits left to come back for, until the firm calls it done or dropped; the oldest
    first."""
    left = Visit.objects.filter(shop__in=shops_as(user, OWNER)).to_come_back_to()
    return Block(
        "still-to-come",
        "Promised to you",
        lines=tuple(
            map(_still_to_come, left.select_related("shop", "firm").order_by("signed_at")[:most])
        ),
        count=left.count(),
        more_url=_all("still-to-come"),
        folded=True,
        empty="Nothing was left undone.",
    )


def _still_to_come(visit):
    today = visit.shop.today
    return Line(
        what=" ".join(visit.come_back_for.split()),
        url=visit.get_absolute_url(),
        where=str(visit.firm),
        since=age_text(timezone.localdate(visit.signed_at, timezone=visit.shop.zone), today),
        why=f"they come {short_day(visit.back_on, today)}" if visit.back_on else "no day yet",
        action="Open visit",
        action_url=visit.get_absolute_url(),
    )


# ---- what will be due ----


def this_month(user, most=None):
    """What is overdue or falls due within a month, and what it costs where that is known; as many
    as leave all three on a phone's first screen, unless told how many."""
    shown = len(stands(user).lines) + len(waiting(user).lines)
    most = most or max(OPEN_LINES - shown, 1)
    shops = shops_as(user, OWNER)
    last = timezone.now().date() + A_MONTH
    overdue = BUCKETS.index("overdue")
    dues = standing_dues(shops).next_times().filter(Q(by__lte=last) | Q(rank=overdue))
    told = dues.order_by().values_list("shop__currency").annotate(Count("pk"), Sum("plan__cost"))
    rows = list(told)
    costs = [money_text(cost or Decimal(0), code) for code, _number, cost in rows if code and cost]
    return Block(
        "this-month",
        "Due within a month",
        lines=tuple(map(_due, items_of(dues.most_pressing_first()[:most]))),
        count=sum(number for _code, number, _cost in rows),
        sum=" + ".join(costs),
        more_url=reverse("machines:due"),
        empty="Nothing falls due within a month.",
        empty_url=reverse("machines:plans"),
        empty_action="See the plans",
    )


def _due(item):
    shop = item.machine.shop
    price = item.plan.cost
    cost = f" · {money_text(price, shop.currency)}" if price and shop.currency else ""
    visit = item.visit
    propose = f"{reverse('machines:propose', args=[shop.pk])}?work={key_of(item)}"
    return Line(
        what=str(item.plan),
        url=item.plan.get_absolute_url(),
        badge="overdue" if item.bucket == "overdue" else "",
        since=short_day(item.due.on, item.today) if item.due.on else "",
        why=f"Machine {item.machine.number} · {item.due.reason}{cost}",
        action="Open visit" if visit else "Ask for a visit",
        action_url=visit.get_absolute_url() if visit else propose,
    )
