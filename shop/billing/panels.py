"""What billing adds to the pages of a visit and to the first page."""

from shop.hooks import Panel
from shop.people.access import DESK, role_at
from shop.people.models import Role, billed_to
from shop.snapshots.pages import cached_panel
from shop.visits.models import Visit

from .models import Quote, Statement


@cached_panel
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
            "told": _told(visit, standing),
            "works": works,
            "to_charge": works and not standing,
            "lines": visit.charges.billed().count(),
        },
    )


def _told(visit, standing):
    """How far the money of a visit is, in a few words."""
    if standing:
        return "settled" if not any(one.outstanding for one in standing) else "outstanding"
    return "to be billed" if visit.is_signed else "after signing"


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
