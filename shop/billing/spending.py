"""What a shop was charged and what it agreed to pay, by day, for the owner's year.

Every source takes (shop, first day, last day, viewer) and gives (day, amount without tax,
currency) of what the viewer may see: an owner everything of the shop, a contractor the own firm's.
"""

from django.utils import timezone

from shop.people.models import Firm

from .models import Quote, QuoteItem, Statement


def charged(shop, first, last, viewer):
    """Statements on the day they were issued, and credit notes against them; one query."""
    issued = Statement.objects.visible_to(viewer).filter(shop=shop, issued_on__range=(first, last))
    return [
        (one.issued_on, -one.net if one.is_credit_note else one.net, one.currency) for one in issued
    ]


def accepted_quotes(shop, first, last, viewer):
    """What was accepted of quotes, on the day its visit is planned for, else the day it was
    accepted; two queries."""
    items = (
        QuoteItem.objects.filter(answer__accepted=True)
        .filter(quote__in=Quote.objects.visible_to(viewer).filter(shop=shop))
        .select_related("quote", "answer")
        .prefetch_related("quote__visits")
    )
    dated = ((_day_of(item, shop.zone), item) for item in items)
    return [(day, item.net, item.quote.currency) for day, item in dated if first <= day <= last]


def _day_of(item, zone):
    for visit in item.quote.visits.all():
        if visit.planned_for and not visit.is_called_off:
            return visit.planned_for
    return timezone.localdate(item.answer.made_at, timezone=zone)


def usual_currency(shop):
    """The currency a shop reckons in, else that of the firm that serves it, empty when none does;
    at most one query."""
    if shop.currency:
        return shop.currency
    serving = Firm.objects.filter(memberships__shop=shop, memberships__ended_at=None)
    return serving.order_by("pk").values_list("currency", flat=True).first() or ""
