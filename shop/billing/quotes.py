"""What changes quotes: issuing them, the owner's answers, and the visit planned for them.

What can be quoted comes from `MONEY_SOURCES` in settings: functions of a shop and a firm that
return `Quotable`s. What follows from an accepted item is done by `AFTER`.
"""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import partial

from django.conf import settings
from django.db import transaction

from shop.hooks import hooks
from shop.paper.issuing import issue
from shop.paper.models import Document
from shop.people.telling import enter
from shop.visits.numbering import next_number
from shop.visits.services import open_visit
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.wording import day_text

from .models import Charge, Quote, QuoteAnswer, QuoteItem, QuoteLine, Rate
from .money import Amount, Tax, add_up, line_net
from .quote_document import build_quote
from .services import usual_tax

VALID_DAYS = 30


@dataclass(frozen=True)
class Quotable:
    """Something that was advised: the part with its price, and the hours to fit it, where known.

    `source` tells it from everything else and is what an accepted item leads back to.
    """

    source: str
    what: str
    reason: str
    part: str
    part_number: str
    quantity: Decimal
    part_price: Decimal | None
    hours: Decimal | None


@dataclass(frozen=True)
class Priced:
    """A quotable as it is offered: the price of one part, and the hours of labour in all."""

    quotable: Quotable
    part_price: Decimal | None
    hours: Decimal | None


def quotables(shop, firm):
    """Everything that can be quoted to a shop by a firm."""
    sources = hooks(settings.MONEY_SOURCES, about="quotes")
    return [one for source in sources for one in source(shop, firm)]


@entered_once(Quote)
def issue_quote(*, shop, firm, made_by, offered, note="", valid_days=VALID_DAYS, entry_id=None):
    """Issue a quote with one item for each `Priced`; all of it or nothing.

    Raises Refused for no items, an item without a price or hours, and hours without a rate.
    """
    if not offered:
        raise Refused("Choose at least one thing to quote.")
    drawn = [_item(place, one, firm, shop) for place, one in enumerate(offered, start=1)]
    totals = add_up(_amount(line) for _, lines in drawn for line in lines)
    today = shop.today
    quote = Quote.objects.create(
        number=f"QU-{today.year}-{next_number(firm, 'quote', today.year):04d}",
        firm=firm,
        shop=shop,
        issued_on=today,
        valid_until=today + timedelta(days=valid_days),
        currency=firm.currency,
        note=note.strip(),
        net=totals.net,
        tax=totals.tax,
        gross=totals.gross,
        made_by=made_by,
        **identified(entry_id),
    )
    for item, lines in drawn:
        item.quote = quote
        item.save()
        for line in lines:
            line.item = item
        QuoteLine.objects.bulk_create(lines)
    quote.sealed = True
    quote.save(update_fields=["sealed"])
    issue(
        partial(build_quote, quote, drawn, totals.taxed),
        shop=shop,
        firm=firm,
        quote=quote,
        kind=Document.Kind.QUOTE,
        number=quote.number,
    )
    return quote


def _item(position, offer, firm, shop):
    """An item and its lines, not saved."""
    lines = [line for line in (_part_line(offer, firm, shop), _labour_line(offer, firm)) if line]
    if not lines:
        raise Refused(f"{offer.quotable.what}: give the price of the part, or hours of labour.")
    for place, line in enumerate(lines, start=1):
        line.position = place
    item = QuoteItem(
        position=position,
        source=offer.quotable.source,
        what=offer.quotable.what[:200],
        reason=offer.quotable.reason,
        net=sum(line.net for line in lines),
    )
    return item, lines


def _part_line(offer, firm, shop):
    if offer.part_price is None:
        return None
    quotable, tax = offer.quotable, usual_tax(firm, shop)
    return _line(
        Charge.Kind.PART,
        quotable.part,
        quotable.quantity,
        Rate.Unit.PIECE,
        offer.part_price,
        tax,
        number=quotable.part_number,
    )


def _labour_line(offer, firm):
    if not offer.hours:
        return None
    rate = firm.rates.filter(kind=Rate.Kind.NORMAL).select_related("tax").first()
    if rate is None:
        raise Refused(f"{firm} has no price for a normal hour yet; enter it with its prices.")
    return _line(Charge.Kind.LABOUR, rate.name, offer.hours, rate.unit, rate.price, rate.tax)


def _line(kind, text, quantity, unit, price, tax, number=""):
    if quantity <= 0 or price < 0:
        raise Refused(f"{text}: expected a price of 0 or more and hours above 0.")
    return QuoteLine(
        kind=kind,
        text=text[:300],
        number=number,
        quantity=quantity,
        unit=unit,
        price=price,
        net=line_net(quantity, price),
        tax_code=tax.code,
        tax_name=tax.name,
        tax_percent=tax.percent,
    )


def _amount(line):
    return Amount(line.net, Tax(line.tax_code, line.tax_percent))


@transaction.atomic
def answer_quote(quote, answers, *, made_by, told=None):
    """Keep what the owner said to items of a quote, each said once.

    answers: item pk to (accepted, note). told: the `Told` that the firm writes down, None where the
    owner answers. What an accepted item leads to is done at once. Raises Refused once the quote is
    no longer valid (on the day it was told), and for an item that was answered before.
    """
    quote = Quote.objects.select_for_update(of=("self",)).select_related("shop").get(pk=quote.pk)
    said_on = told.told_on if told else quote.shop.today
    if said_on > quote.valid_until:
        raise Refused(
            f"This quote was valid until {day_text(quote.valid_until)}; ask for a new one."
        )
    accepted = sum(accepts for accepts, _note in answers.values())
    what = f"{quote}: {accepted} of {len(answers)} answered items accepted"
    record = enter(told, shop=quote.shop, what=what, made_by=made_by)
    kept = []
    for item in quote.items.filter(pk__in=answers).select_related("quote"):
        if QuoteAnswer.objects.filter(item=item).exists():
            raise Refused(f"{item.what} was answered already.")
        accepted, note = answers[item.pk]
        answer = QuoteAnswer.objects.create(
            item=item, accepted=accepted, note=note.strip(), made_by=made_by, told=record
        )
        kept.append(answer)
        if accepted:
            for follow in hooks(settings.AFTER, about="accepting"):
                follow(answer)
    return kept


@transaction.atomic
def plan_accepted_work(quote, *, made_by, planned_for=None):
    """Open a visit for what was accepted; planned once for each quote."""
    quote = (
        Quote.objects.select_for_update(of=("self",))
        .select_related("shop", "firm")
        .get(pk=quote.pk)
    )
    if visit := quote.visits.first():
        return visit
    accepted = list(quote.items.filter(answer__accepted=True))
    if not accepted:
        raise Refused("Nothing of this quote was accepted yet.")
    visit = open_visit(
        shop=quote.shop,
        firm=quote.firm,
        contractor=made_by,
        purpose=f"Work accepted in quote {quote.number}",
        made_by=made_by,
        planned_for=planned_for,
    )
    visit.quote = quote
    visit.save(update_fields=["quote"])
    for follow in hooks(settings.AFTER, about="planning what was quoted"):
        follow(visit, accepted)
    return visit


def accepted_prices(firm, sources):
    """{source: price of one part} of what was quoted by the firm and accepted; one query."""
    lines = QuoteLine.objects.filter(
        kind=Charge.Kind.PART,
        item__source__in=sources,
        item__quote__firm=firm,
        item__answer__accepted=True,
    ).order_by("pk")
    return dict(lines.values_list("item__source", "price"))
