"""What ends the fleet's visits: times, signatures and the bill."""

import hashlib
import io
from datetime import timedelta
from decimal import Decimal

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from reportlab.pdfgen.canvas import Canvas

from shop.billing.models import Payment, Rate, Statement, StatementLine, StatementTax, TaxCategory
from shop.billing.money import Amount, add_up, line_net
from shop.paper.models import Document
from shop.visits.models import NumberSeries, Signature, Visit, WorkSpell

TRAVEL = timedelta(minutes=50)
PAID_SHARE = 0.85
PAID_AFTER_DAYS = 24
HUNDREDTH = Decimal("0.01")


def put_down_times(fleet, batch):
    """Travel and work of every visit."""
    fleet.add(
        WorkSpell(
            visit=day.visit,
            who=batch.contractor,
            kind=kind,
            began_at=began,
            ended_at=ended,
            **fleet.entered(batch.contractor, ended),
        )
        for day in _made(batch)
        for kind, began, ended in (
            (WorkSpell.Kind.TRAVEL, day.start - TRAVEL, day.start),
            (WorkSpell.Kind.WORK, day.start, day.visit.left_at),
        )
    )


def bill(fleet, batch):
    """A statement for each visit, sealed, and what was paid of it."""
    rates = {rate.kind: rate for rate in Rate.objects.filter(firm=batch.firm)}
    tax = TaxCategory.objects.get(firm=batch.firm)
    drawn = [_statement(fleet, batch, day, rates, tax) for day in _made(batch)]
    fleet.add(statement for statement, _lines, _totals in drawn)
    fleet.add(line for _statement, lines, _totals in drawn for line in lines)
    fleet.add(
        StatementTax(
            statement=statement,
            code=tax.code,
            name=tax.name,
            percent=tax.percent,
            base=totals.taxed[0].base,
            amount=totals.taxed[0].amount,
        )
        for statement, _lines, totals in drawn
    )
    fleet.add(payment for statement, *_ in drawn for payment in _paid(fleet, batch, statement))
    Statement.objects.filter(shop__in=batch.shops).update(sealed=True)
    name, digest = _stand_in(batch.firm)
    fleet.add(
        Document(
            shop_id=statement.shop_id,
            firm=batch.firm,
            visit_id=statement.visit_id,
            statement=statement,
            kind=Document.Kind.STATEMENT,
            number=statement.number,
            file=name,
            sha256=digest,
            issued_at=statement.made_at,
        )
        for statement, *_ in drawn
    )


def _stand_in(firm):
    """(name, SHA-256) of the one page that stands for all documents of a firm of the fleet."""
    page = io.BytesIO()
    canvas = Canvas(page, invariant=True)
    canvas.drawString(72, 700, f"{firm.name}: written in bulk. The statement's page has its lines.")
    canvas.save()
    content = page.getvalue()
    name = default_storage.save("documents/fleet/statement.pdf", ContentFile(content))
    return name, hashlib.sha256(content).hexdigest()


def sign(fleet, batch):
    """Both parties sign every visit; from here on the triggers keep all of it as it is."""
    fleet.add(
        Signature(
            visit=day.visit, party=party, name=who.name, role=role, signed_at=day.visit.left_at
        )
        for day in _made(batch)
        for party, who, role in (
            (Signature.Party.CONTRACTOR, batch.contractor, "service contractor"),
            (Signature.Party.CUSTOMER, batch.owners[day.visit.shop_id], "shop owner"),
        )
    )
    signed = [day.visit for day in _made(batch)]
    for visit in signed:
        visit.state, visit.signed_at = Visit.State.SIGNED, visit.left_at
    Visit.objects.bulk_update(signed, ["state", "signed_at"], batch_size=200)
    fleet.add(
        NumberSeries(firm=batch.firm, kind=kind, year=year, last=last)
        for (firm, kind, year), last in fleet.numbers.items()
        if firm == batch.firm.pk
    )


def _made(batch):
    """The days that are over; the others lie ahead."""
    return [day for day in batch.days if day.visit.arrived_at]


def _statement(fleet, batch, day, rates, tax):
    visit = day.visit
    hours = Decimal((visit.left_at - day.start).total_seconds() / 3600).quantize(HUNDREDTH)
    asked = (
        (rates[Rate.Kind.NORMAL], "labour", hours),
        (rates[Rate.Kind.TRAVEL_TIME], "travel", Decimal("0.83")),
    )
    nets = [line_net(quantity, rate.price) for rate, _kind, quantity in asked]
    totals = add_up([Amount(net, tax.tax) for net in nets])
    issued_on = visit.left_at.astimezone(visit.shop.zone).date()
    statement = Statement(
        number=fleet.next_number(batch.firm, "statement", issued_on.year),
        firm=batch.firm,
        shop=visit.shop,
        visit=visit,
        issued_on=issued_on,
        due_on=issued_on + timedelta(days=batch.firm.payment_days),
        currency=batch.firm.currency,
        seller_name=batch.firm.name,
        seller_address=batch.firm.address,
        buyer_name=visit.shop.name,
        buyer_address=visit.shop.address,
        about=f"Visit {visit.number}",
        payment_note=batch.firm.payment_note,
        lines_total=totals.lines,
        discounts_total=totals.allowances,
        net=totals.net,
        tax=totals.tax,
        gross=totals.gross,
        **fleet.entered(batch.contractor, visit.left_at),
    )
    lines = [
        StatementLine(
            statement=statement,
            position=position,
            kind=kind,
            text=rate.name,
            quantity=quantity,
            unit=rate.unit,
            price=rate.price,
            net=net,
            tax_code=tax.code,
            tax_percent=tax.percent,
        )
        for position, ((rate, kind, quantity), net) in enumerate(
            zip(asked, nets, strict=True), start=1
        )
    ]
    return statement, lines, totals


def _paid(fleet, batch, statement):
    paid_on = statement.issued_on + timedelta(days=PAID_AFTER_DAYS)
    if paid_on < fleet.now.date() and fleet.rng.random() < PAID_SHARE:
        yield Payment(
            statement=statement,
            paid_on=paid_on,
            amount=statement.gross,
            **fleet.entered(batch.contractor, statement.made_at + timedelta(days=PAID_AFTER_DAYS)),
        )
