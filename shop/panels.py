"""What the ground app shows on the pages of visits."""

import uuid

from .access import DESK, role_at
from .composing import Panel
from .models import Document, Quote, Role, Statement, ToldAnswer, Visit
from .models.charges import billed_to
from .standing.pages import stands
from .worktime import work_time

TOLD_ON_HOME = 10


def clock(visit, request):
    """Who was there how long, and the clock's buttons; two queries."""
    time = work_time(visit)
    may_work = not visit.is_signed and role_at(request.user, visit.shop) == Role.CONTRACTOR
    mine = next((one for one in time.running if one.who_id == request.user.pk), None)
    return Panel(
        "shop/panels/clock.html",
        {
            "visit": visit,
            "time": time,
            "mine": mine,
            "may_work": may_work,
            "entry_id": uuid.uuid4(),
            "request": request,
        },
    )


@stands
def money(visit, request):
    """The charges of a visit and the statements made of them, for those whom money concerns."""
    if not Visit.objects.filter(billed_to(request.user), pk=visit.pk).exists():
        return None
    works = role_at(request.user, visit.shop) == Role.CONTRACTOR
    statements = list(Statement.objects.filter(visit=visit).with_outstanding().order_by("pk"))
    if not works and not statements:
        return None
    taken_back = {one.credits_id for one in statements if one.closes}
    standing = [one for one in statements if not one.is_credit_note and one.pk not in taken_back]
    return Panel(
        "shop/panels/money.html",
        {
            "visit": visit,
            "statements": statements,
            "works": works,
            "to_charge": works and not standing,
            "lines": visit.charges.billed().count(),
        },
    )


@stands
def documents(visit, request):
    """The documents issued of a visit, and the way to send them."""
    issued = list(Document.objects.visible_to(request.user).filter(visit=visit))
    if not issued:
        return None
    return Panel(
        "shop/panels/documents.html",
        {
            "visit": visit,
            "documents": issued,
            "may_send": role_at(request.user, visit.shop) == Role.CONTRACTOR,
        },
    )


def home_told(request):
    """Answers that a firm entered for the owner and nobody has replied to, the oldest first; one
    query."""
    waiting = ToldAnswer.objects.waiting_for(request.user).select_related("shop")
    shown = list(waiting.order_by("made_at", "pk")[:TOLD_ON_HOME])
    return Panel("shop/panels/home_told.html", {"waiting": shown}) if shown else None


def home_money(request):
    """What is outstanding, and the ways to statements, quotes and the firm's prices; three
    queries, and nothing for those whom money does not concern."""
    desk = request.user.memberships.current().filter(role__in=DESK).select_related("firm")
    firms = {one.firm for one in desk}
    if not firms:
        return None
    seen = Statement.objects.visible_to(request.user)
    quotes = Quote.objects.visible_to(request.user).select_related("shop")
    return Panel(
        "shop/panels/home_money.html",
        {
            "sums": seen.outstanding_by_currency(),
            "to_answer": list(quotes.with_open_items().waiting()),
            "firms": sorted((firm for firm in firms if firm), key=str),
        },
    )
