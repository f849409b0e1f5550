"""What a contractor asks in the morning, over all the shops served. Each panel runs a fixed number
of queries however many shops and machines there are."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import groupby

from django.db.models import Count, Exists, F, OuterRef, Prefetch, Q, Subquery
from django.urls import reverse
from django.utils import timezone
from django.utils.text import capfirst

from machines.calls.models import Call
from machines.incidents.models import Incident
from machines.planning.bring import to_load
from machines.register.models import Machine, Standstill, VisitedMachine
from shop.billing.models import Charge, Statement
from shop.calendar.models import Proposal
from shop.people.days import by_shops_day
from shop.visits.models import Visit
from shop.web.amounts import money_text
from shop.web.phones import phone_link
from shop.web.request_memo import request_memo
from shop.web.today import LINES, Block, Line, age_text, counted, short_day

from .places import CONTRACTOR, own_visits, phone_of, shops_as, with_next_visit

State = Visit.State
# A day has begun somewhere already, and has not ended elsewhere.
A_DAY = timedelta(days=1)
# Nobody is at so many shops on one day; what is left of older days stands in the list of visits.
MOST_EXPECTED = 30
# So many lines that stand open fit a phone's first screen with all that is folded.
OPEN_LINES = 3
# A sum of so many visits is worked out line by line.
MOST_SUMMED = 50


def _all(key):
    return f"{reverse('machines:open')}?of={key}"


def _all_open(kind):
    return f"{reverse('machines:open_work')}?kind={kind}"


# ---- who calls ----


def calls(user, most=2):
    """As `_ask_calls`; asked once a page."""
    return request_memo(("calls", user.pk, most), lambda: _ask_calls(user, most))


def _ask_calls(user, most):
    """Crashes nobody looked at, visits asked for and who rang: those without an answer first, the
    machine that stands before the one that runs, then by the day that was promised."""
    crashes, asked, rang = crashes_new(user), _asked(user), calls_noted(user)
    lines, count = [], 0
    for found, line_of in ((crashes, _crash), (asked, _ask), (rang, _rang)):
        shown = list(map(line_of, found[:most]))
        lines += shown
        count += counted(found, shown, most)
    lines.sort(key=lambda one: one[0])
    return Block(
        "calls",
        "Calls",
        lines=tuple(line for _order, line in lines[:most]),
        count=count,
        more_url=_all("calls"),
        add_url=reverse("machines:new_call"),
        add="Note a call",
        empty="Nobody calls: no new crash, no visit asked for.",
    )


def calls_noted(user):
    """Calls that the person's firm took and nobody settled, the oldest first."""
    found = Call.objects.visible_to(user).open().select_related("shop", "machine")
    return found.order_by("rang_at", "pk")


def call_line(call):
    shop = call.shop
    today = shop.today
    number = call.phone or shop.phone
    dials = phone_link(number, shop.country)
    promised = f" · promised: {call.promised}" if call.promised else ""
    return Line(
        what=f"{call.machine.number} · {shop}" if call.machine else str(shop),
        url=call.get_absolute_url(),
        since=age_text(timezone.localdate(call.rang_at, timezone=shop.zone), today),
        why=f"{call.who}: {' '.join(call.says.split())}{promised}",
        phone=(number, dials) if dials else (),
        action="Open call",
        action_url=call.get_absolute_url(),
    )


def _rang(call):
    return (date.min, True, -call.rang_at.timestamp()), call_line(call)


def crashes_new(user):
    """Crashes nobody looked at, at machines in service, with the firm's next visit to each."""
    shops = shops_as(user, CONTRACTOR)
    new = Incident.objects.each_once().filter(state=Incident.State.LOGGED, machine__shop__in=shops)
    new = new.filter(machine__in=Machine.objects.in_service(timezone.now().date()))
    stands = Standstill.objects.filter(machine=OuterRef("machine"), ended_at=None)
    found = with_next_visit(new, own_visits(user), "machine").annotate(stands=Exists(stands))
    found = found.select_related("machine__shop")
    return found.order_by(F("coming_on").asc(nulls_first=True), "-stands", "-happened_at")


def _crash(incident):
    moment = incident.happened_at.timestamp()
    order = (incident.coming_on or date.min, not incident.stands, -moment)
    return order, crash_line(incident)


def crash_line(incident):
    machine, shop = incident.machine, incident.machine.shop
    today = shop.today
    moment = incident.happened_at.astimezone(shop.zone)
    if incident.coming:
        action = ("Open visit", reverse("shop:visit", args=[incident.coming]))
    else:
        address = reverse("machines:open_visit", args=[machine.pk])
        action = ("Plan a visit", f"{address}?incident={incident.pk}")
    promised = incident.coming_on and f" · you come {short_day(incident.coming_on, today)}"
    return Line(
        what=f"{machine.number} · {shop}",
        url=incident.get_absolute_url(),
        badge="stopped" if incident.stands else "",
        since=f"{short_day(moment.date(), today)} {moment:%H:%M}",
        why=f"{capfirst(incident)}{promised or ''}",
        phone=phone_of(shop),
        action=action[0],
        action_url=action[1],
    )


def _asked(user):
    return (
        Proposal.objects.visible_to(user)
        .filter(state=Proposal.State.WITH_CONTRACTOR, shop__in=shops_as(user, CONTRACTOR))
        .select_related("shop")
        .prefetch_related("days")
        .order_by("made_at", "pk")
    )


def ask_line(proposal):
    today = proposal.shop.today
    days = ", ".join(short_day(one.day, today) for one in list(proposal.days.all())[:3])
    return Line(
        what=str(proposal.shop),
        url=proposal.get_absolute_url(),
        since=age_text(proposal.made_at.astimezone(proposal.shop.zone).date(), today),
        why=f"Asks for a visit: {proposal.purpose} · {days}",
        phone=phone_of(proposal.shop),
        action="Answer",
        action_url=proposal.get_absolute_url(),
    )


def _ask(proposal):
    return (date.min, True, -proposal.made_at.timestamp()), ask_line(proposal)


# ---- where I am expected, and what to load ----


def _here(user):
    """The visits of today: on site, planned for today, or for a day gone by; else the next one."""
    return request_memo(("expected", user.pk), lambda: _ask_here(user))


def _ask_here(user):
    ahead = (
        own_visits(user)
        .unsigned()
        .filter(contractor=user)
        .filter(Q(state=State.ON_SITE) | Q(planned_for__isnull=False))
        .select_related("shop")
        .prefetch_related(Prefetch("visited", VisitedMachine.objects.select_related("machine")))
    )
    soon = ahead.filter(Q(planned_for=None) | Q(planned_for__lte=timezone.now().date() + A_DAY))
    found = list(soon.order_by("-planned_for", "planned_from", "pk")[:MOST_EXPECTED])
    here = [one for one in found if one.state == State.ON_SITE or one.day <= one.shop.today]
    here.sort(key=lambda one: (one.day != one.shop.today, one.planned_from is None, one.pk))
    if here:
        return here
    return list(ahead.filter(planned_for__gt=timezone.now().date()).order_by("planned_for")[:1])


def expected(user, most=None):
    """Where the person is expected today, by the time of day; else the next visit. As many as leave
    the calls and these on a phone's first screen, unless told how many."""
    most = most or max(OPEN_LINES - len(calls(user).lines), 1)
    here = _here(user)
    is_later = bool(here) and here[0].state == State.PLANNED and here[0].day > here[0].shop.today
    return Block(
        "expected",
        "Next visit" if is_later else "Expected today",
        lines=tuple(map(_visit_line, here[:most])),
        count=len(here),
        more_url=_all("expected"),
        empty="Nobody expects you today, and no visit is planned.",
        empty_url=reverse("machines:trips"),
        empty_action="Plan a round",
    )


def _visit_line(visit):
    today = visit.shop.today
    if visit.state == State.ON_SITE:
        when = "on site"
    elif visit.day == today:
        when = f"{visit.planned_from:%H:%M}" if visit.planned_from else "today"
    else:
        passed = "planned for " if visit.day < today else ""
        when = f"{passed}{short_day(visit.day, today)}"
    numbers = ", ".join(here.machine.number for here in visit.visited.all())
    address = ", ".join(visit.shop.address.split("\n"))
    return Line(
        what=f"{when} {visit.shop}" if when[0].isdigit() else str(visit.shop),
        url=visit.get_absolute_url(),
        since="" if when[0].isdigit() else when,
        why=f"Machine {numbers} · {address}" if numbers else address,
        phone=phone_of(visit.shop),
        action="Go on" if visit.state == State.ON_SITE else "Open visit",
        action_url=visit.get_absolute_url(),
    )


def load(user, most=LINES):
    """What to load for the visits expected."""
    visits = _here(user)
    wanted = to_load(visits) if visits else []
    lacking = sum(1 for one in wanted if one.lacking)
    first = visits[0] if visits else None
    bring = reverse("machines:bring", args=[first.pk]) if first else ""
    return Block(
        "load",
        "Load into the van",
        lines=tuple(
            Line(
                what=f"{one.quantity} × {one.part or one.what}",
                url=one.part.get_absolute_url() if one.part else bring,
                why=_stock_words(one),
            )
            for one in sorted(wanted, key=lambda one: -one.lacking)[:most]
        ),
        count=len(wanted),
        sum=f"{lacking} not in the van" if lacking else "",
        more_url=bring,
        folded=True,
        empty="Nothing is wanted at these visits." if visits else "No visit is planned.",
    )


def _stock_words(wanted):
    if wanted.part is None:
        return "no part named"
    if not wanted.lacking:
        return "in the van"
    told = [(wanted.from_shelf, "from the shelf"), (wanted.to_order, "to order")]
    return " · ".join(f"{number} {words}" for number, words in told if number)


# ---- what I promised ----


def promises(user):
    """What visits left to come back for until it is done or dropped, the oldest first, each with
    the firm's next visit to the shop."""
    ahead = Visit.objects.unsigned().filter(shop=OuterRef("shop"), firm=OuterRef("firm"))
    ahead = ahead.order_by("planned_for", "pk")
    found = own_visits(user).to_come_back_to().select_related("shop")
    return (
        found.annotate(
            again=Subquery(ahead.values("pk")[:1]),
            again_on=Subquery(ahead.values("planned_for")[:1]),
        )
        .prefetch_related(Prefetch("visited", VisitedMachine.objects.select_related("machine")))
        .order_by("signed_at", "pk")
    )


def promised(user, most=LINES):
    found = promises(user)
    return Block(
        "promised",
        "Come back for",
        lines=tuple(map(promise_line, found[:most])),
        count=found.count(),
        more_url=_all_open("promised"),
        folded=True,
        empty="Nothing was left undone.",
    )


def promise_line(visit):
    today = visit.shop.today
    numbers = ", ".join(here.machine.number for here in visit.visited.all())
    told = [f"machine {numbers}" if numbers else ""]
    told += [f"kept for {short_day(visit.back_on, today)}" if visit.back_on else "no day yet"]
    told += [f"you come {short_day(visit.again_on, today)}" if visit.again_on else ""]
    settle = reverse("shop:settle_come_back", args=[visit.pk])
    return Line(
        what=" ".join(visit.come_back_for.split()),
        url=visit.get_absolute_url(),
        where=str(visit.shop),
        since=age_text(timezone.localdate(visit.signed_at, timezone=visit.shop.zone), today),
        why=" · ".join(filter(None, told)),
        action="Settle it" if visit.back_on or visit.again else "Set a day",
        action_url=settle,
    )


# ---- money ----


def unbilled(user):
    """Signed visits of the person's firms with something to charge and no statement in effect, the
    oldest first."""
    charged = Charge.objects.billed().filter(visit=OuterRef("pk"))
    billed = Statement.objects.in_effect().filter(visit=OuterRef("pk"))
    signed = own_visits(user).filter(state=State.SIGNED)
    found = signed.filter(Exists(charged), ~Exists(billed))
    return found.select_related("shop").order_by("signed_at", "pk")


def to_bill(user, most=LINES):
    found = unbilled(user)
    shown = list(found.select_related("shop", "firm")[: MOST_SUMMED + 1])
    return Block(
        "to-bill",
        "Signed, not billed",
        lines=tuple(map(bill_line, shown[:most])),
        count=len(shown) if len(shown) <= MOST_SUMMED else found.count(),
        sum=_sum_of(shown) if len(shown) <= MOST_SUMMED else "",
        more_url=_all_open("to-bill"),
        folded=True,
        empty="Everything that was signed is billed.",
    )


def bill_line(visit):
    return Line(
        what=str(visit.shop),
        url=visit.get_absolute_url(),
        where=visit.number,
        since=age_text(visit.day, visit.shop.today),
        action="Bill it",
        action_url=reverse("shop:charges", args=[visit.pk]),
    )


def _sum_of(visits):
    """What the visits come to without tax, by currency; one query, and "" where a line has no price
    yet, or takes off a share of others."""
    currencies = {visit.pk: visit.firm.currency for visit in visits}
    sums = {}
    for charge in Charge.objects.billed().filter(visit__in=visits).select_related("tax"):
        if charge.amount is None:
            return ""
        net = -charge.amount.net if charge.is_discount else charge.amount.net
        currency = currencies[charge.visit_id]
        sums[currency] = sums.get(currency, Decimal(0)) + net
    return " + ".join(money_text(net, currency) for currency, net in sorted(sums.items()))


def owed(user):
    """Statements of the person's firms with something left to pay, the longest due first."""
    firms = user.memberships.current().filter(role=CONTRACTOR).values("firm")
    found = Statement.objects.visible_to(user).filter(firm__in=firms).in_effect()
    found = found.with_outstanding().filter(outstanding__gt=0)
    return found.select_related("shop").order_by("due_on", "pk")


def late(user, most=LINES):
    """Statements past their day with something left to pay, the longest first."""
    late = owed(user).filter(by_shops_day(lambda day: Q(due_on__lt=day)))
    number, totals = late.aggregate(number=Count("pk"))["number"], _totals(late)
    if not number and (owed_all := _totals(owed(user))):
        totals = f"none of {owed_all}"
    return Block(
        "late",
        "Paying late",
        lines=tuple(map(late_line, late[:most])),
        count=number,
        sum=totals,
        more_url=f"{reverse('shop:statements')}?outstanding",
        folded=True,
        empty="Nobody is late with paying.",
    )


def _totals(statements):
    """What is left to pay of statements, by currency; one query."""
    sums = statements.order_by("currency").values_list("currency", "outstanding")
    return " + ".join(
        money_text(sum(amount for _currency, amount in these), currency)
        for currency, these in groupby(sums, key=lambda row: row[0])
    )


def late_line(statement):
    today = statement.shop.today
    return Line(
        what=f"{statement.shop}: {money_text(statement.outstanding, statement.currency)}",
        url=statement.get_absolute_url(),
        where=statement.number,
        since=f"{age_text(statement.due_on, today)} late"
        if statement.due_on < today
        else "due today",
        phone=phone_of(statement.shop),
        action="Open",
        action_url=statement.get_absolute_url(),
    )
