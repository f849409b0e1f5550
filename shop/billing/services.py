"""What changes charges, statements and payments; `crediting.py` takes statements back."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import partial

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from shop.hooks import hooks
from shop.paper.issuing import issue
from shop.paper.models import Document
from shop.visits.models import Visit
from shop.visits.numbering import next_number
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.wording import day_text

from .models import Charge, Payment, Rate, Statement, StatementLine, StatementTax
from .money import ZERO, Amount, Totals, add_up, percent_of, to_hundredths
from .statement_document import build_statement

# A browser's form has a box for each line of a statement that is taken back by parts; Django takes
# at most a thousand.
MOST_LINES = 900
KNOWN_COLUMNS = ("kind", "text", "number", "quantity", "unit", "price")


@dataclass(frozen=True)
class DrawnUp:
    """A statement as it would be issued: the records, not saved, and what they come to."""

    statement: Statement
    lines: list[StatementLine]
    taxes: list[StatementTax]
    unpriced: list[Charge]


# ---- charges ----


@transaction.atomic
def fill_in(visit, *, made_by):
    """Bring the charges in line with what the visit knows; returns how many lines changed.

    Lines somebody edited or left out stay as they are; so do those entered by hand.
    """
    visit = _open_for_charges(visit)
    usual = usual_tax(visit.firm, visit.shop)
    there = {charge.source: charge for charge in visit.charges.exclude(source="")}
    known = {filled.source: filled for filled in known_charges(visit)}
    changed = 0
    for source, filled in known.items():
        charge = there.get(source) or Charge(visit=visit, source=source, made_by=made_by)
        if not (charge.edited or charge.left_out):
            changed += _follow(charge, filled, usual)
    for source, charge in there.items():
        if source not in known and not charge.edited:
            charge.delete()
            changed += 1
    return changed


@transaction.atomic
def begin_prices(tax, hour):
    """Save a firm's first tax category and what an hour of work costs, by itself 0 or more.

    Raises Refused where the firm has a tax category already.
    """
    if tax.firm.tax_categories.exists():
        raise Refused(f"{tax.firm} has prices already; change them on the firm's page.")
    tax.save()
    kind = Rate.Kind.NORMAL
    Rate.objects.create(
        firm=tax.firm, kind=kind, name="Labour", unit=Rate.Unit.HOUR, price=hour, tax=tax
    )


def charge_what_is_known(visit):
    """After a visit is signed: its lines stand ready, if its firm has prices."""
    if visit.firm.tax_categories.exists():
        fill_in(visit, made_by=visit.contractor)


def _charge_sources():
    return hooks(settings.MONEY_SOURCES, about="charges")


def known_charges(visit):
    """What every charge source yields for a visit, in their order in settings."""
    return [one for source in _charge_sources() for one in source(visit)]


def usual_tax(firm, shop):
    """The tax category that a firm charges a shop by: the one chosen for this customer, else the
    firm's usual one, the first where none is called so; Refused without any."""
    chosen = firm.customers.filter(shop=shop, tax__isnull=False).select_related("tax").first()
    found = chosen.tax if chosen else firm.tax_categories.first()
    if found is None:
        raise Refused(f"{firm} has no tax category yet; enter one with the firm's prices.")
    return found


def _follow(charge, filled, usual):
    """Let a charge say what its source says; 1 when that changed it, else 0."""
    wanted = {name: getattr(filled, name) for name in KNOWN_COLUMNS} | {"tax": filled.tax or usual}
    wanted["text"] = wanted["text"][:300]
    if charge.pk and all(getattr(charge, name) == value for name, value in wanted.items()):
        return 0
    for name, value in wanted.items():
        setattr(charge, name, value)
    charge.save()
    return 1


def not_charged_yet(visit):
    """The sentences of what the visit knows and its charges do not say."""
    there = {charge.source: charge for charge in visit.charges.exclude(source="")}
    return [filled.text for filled in known_charges(visit) if _differs(there, filled)]


def _differs(there, filled):
    charge = there.get(filled.source)
    if charge is None:
        return True
    if charge.edited or charge.left_out:
        return False
    return (charge.quantity, charge.price) != (filled.quantity, filled.price)


@entered_once(Charge)
def add_charge(visit, *, made_by, entry_id=None, **line):
    """Enter a line by hand."""
    visit = _open_for_charges(visit)
    if visit.charges.count() >= MOST_LINES:
        raise Refused(f"A statement has at most {MOST_LINES} lines; this one is full.")
    return _saved(Charge(visit=visit, made_by=made_by, **line, **identified(entry_id)))


@transaction.atomic
def edit_charge(charge, **line):
    """Change a line; from then on it no longer follows what it was filled in from."""
    _open_for_charges(charge.visit)
    for name, value in line.items():
        setattr(charge, name, value)
    charge.edited = True
    return _saved(charge)


@transaction.atomic
def remove_charge(charge):
    """Take a line out; one that was filled in is left out, so that it is not filled in again."""
    _open_for_charges(charge.visit)
    if charge.source:
        charge.left_out = True
        charge.save(update_fields=["left_out"])
    else:
        charge.delete()


@transaction.atomic
def put_back(charge):
    """Charge a line that was left out after all."""
    _open_for_charges(charge.visit)
    charge.left_out = False
    charge.save(update_fields=["left_out"])
    return charge


def _saved(charge):
    """Save a line that makes sense. The database refuses the rest."""
    if charge.quantity is None or charge.quantity <= 0:
        raise Refused("The quantity must be above zero.")
    if charge.price is not None and charge.price < 0:
        raise Refused("A price is not negative; enter a discount instead.")
    if charge.is_discount and (charge.price is None) == (charge.percent is None):
        raise Refused("Give a discount either an amount or a percentage.")
    if not charge.is_discount and charge.percent is not None:
        raise Refused("Only a discount has a percentage.")
    charge.save()
    return charge


def _open_for_charges(visit):
    """The visit, locked, while its charges may change: until a statement stands for it."""
    visit = (
        Visit.objects.select_for_update(of=("self",)).select_related("shop", "firm", "contractor")
    ).get(pk=visit.pk)
    standing = visit.statements.in_effect().first()
    if standing is not None:
        raise Refused(
            f"Statement {standing.number} was issued for this visit and stands. "
            "Issue a credit note for it to change the charges."
        )
    return visit


# ---- statements ----


def draw_up(visit, *, on=None):
    """The statement of a visit as it stands now, not saved: a draft; a fixed number of queries.

    Lines without a price are left aside in `unpriced`. Raises Refused when discounts come to more
    than what they are taken off.
    """
    charges = list(visit.charges.billed().select_related("tax"))
    priced = [charge for charge in charges if charge.is_priced]
    lines = [charge for charge in priced if not charge.is_discount]
    discounts = _discounts(lines, [charge for charge in priced if charge.is_discount])
    totals = add_up(
        [charge.amount for charge in lines], allowances=[amount for _, amount in discounts]
    )
    if totals.net < 0:
        raise Refused("The discounts come to more than the lines they are taken off.")
    on = on or visit.shop.today
    return DrawnUp(
        statement=_statement(visit, totals, on),
        lines=_lines([(charge, charge.amount.net) for charge in lines], discounts),
        taxes=_taxes(totals, {charge.tax.tax: charge.tax for charge in priced}),
        unpriced=[charge for charge in charges if not charge.is_priced],
    )


def _discounts(lines, discounts):
    """(charge, amount) of each discount; a percentage is of the lines taxed like it."""
    sums = {}
    for line in lines:
        sums[line.tax.tax] = sums.get(line.tax.tax, ZERO) + line.amount.net
    return [
        (
            charge,
            charge.amount
            or Amount(percent_of(sums.get(charge.tax.tax, ZERO), charge.percent), charge.tax.tax),
        )
        for charge in discounts
    ]


def _statement(visit, totals: Totals, on):
    firm, shop = visit.firm, visit.shop
    return Statement(
        kind=Statement.Kind.STATEMENT,
        firm=firm,
        shop=shop,
        visit=visit,
        issued_on=on,
        due_on=on + timedelta(days=firm.payment_days),
        currency=firm.currency,
        seller_name=firm.name,
        seller_address=firm.address,
        seller_contact="\n".join(line for line in (firm.phone, firm.email) if line),
        seller_tax_number=firm.tax_number,
        buyer_name=shop.name,
        buyer_address=_buyer_address(shop),
        about=f"Visit {visit.number} on {day_text(visit.day)}: {visit.purpose}",
        payment_note=firm.payment_note,
        lines_total=totals.lines,
        discounts_total=totals.allowances,
        net=totals.net,
        tax=totals.tax,
        gross=totals.gross,
    )


def _buyer_address(shop):
    number = f"Tax registration number {shop.tax_number}" if shop.tax_number else ""
    return "\n".join(line for line in (shop.address, number) if line)


def _lines(priced, discounts):
    """The lines as issued, discounts last and negative."""
    rows = [(charge, charge.quantity, charge.price, net) for charge, net in priced]
    rows += [
        (charge, charge.quantity, charge.price, -amount.net)
        if charge.percent is None
        else (charge, Decimal(1), amount.net, -amount.net)
        for charge, amount in discounts
    ]
    return [
        StatementLine(
            position=position,
            kind=charge.kind,
            text=_text(charge),
            number=charge.number,
            quantity=quantity,
            unit=charge.unit,
            price=price,
            net=net,
            tax_code=charge.tax.code,
            tax_percent=charge.tax.percent,
        )
        for position, (charge, quantity, price, net) in enumerate(rows, start=1)
    ]


def _text(charge):
    if charge.percent is None:
        return charge.text
    return f"{charge.text} ({charge.percent.normalize():f} %)"


def _taxes(totals, categories):
    return [
        StatementTax(
            code=one.tax.code,
            name=categories[one.tax].name,
            percent=one.tax.percent,
            reason=categories[one.tax].reason,
            base=one.base,
            amount=one.amount,
        )
        for one in totals.taxed
    ]


@entered_once(Statement)
def issue_statement(visit, *, made_by, entry_id=None, at=None):
    """Issue the statement of a signed visit: number it, copy its lines, seal it, make its PDF.

    All of it happens or none, so that no number is skipped. Raises Refused for a visit that is not
    signed or has a standing statement, for no lines, and for lines without a price.
    """
    at = at or timezone.now()
    visit = _open_for_charges(visit)
    if not visit.is_signed:
        raise Refused("A statement is issued once the visit is signed; until then it is a draft.")
    drawn = draw_up(visit, on=timezone.localdate(at, timezone=visit.shop.zone))
    if drawn.unpriced:
        missing = ", ".join(charge.text for charge in drawn.unpriced)
        raise Refused(f"Not issued yet: no price for {missing}. Enter it or leave the line out.")
    if not drawn.lines:
        raise Refused("There is nothing to charge yet: a statement has at least one line.")
    return seal(drawn, "ST", made_by=made_by, made_at=at, **identified(entry_id))


def seal(drawn, series, **entry):
    """Number, save and seal a statement with its lines, and store its document."""
    statement = drawn.statement
    for name, value in entry.items():
        setattr(statement, name, value)
    year = statement.issued_on.year
    number = next_number(statement.firm, statement.kind, year)
    statement.number = f"{series}-{year}-{number:04d}"
    statement.save()
    for row in (*drawn.lines, *drawn.taxes):
        row.statement = statement
    StatementLine.objects.bulk_create(drawn.lines)
    StatementTax.objects.bulk_create(drawn.taxes)
    statement.sealed = True
    statement.save(update_fields=["sealed"])
    issue(
        partial(build_statement, statement, drawn.lines, drawn.taxes),
        shop=statement.shop,
        firm=statement.firm,
        visit=statement.visit,
        statement=statement,
        kind=Document.Kind(statement.kind),
        number=statement.number,
        at=statement.made_at,
    )
    return statement


@entered_once(Payment)
def record_payment(statement, *, made_by, amount, paid_on, note="", entry_id=None):
    """Record money that came in for a statement, or that went back (a negative amount).

    Raises Refused for more than is outstanding, for giving back more than was paid, and for a day
    in the future.
    """
    locked = Statement.objects.select_for_update(of=("self",)).get(pk=statement.pk)
    if locked.is_credit_note:
        raise Refused("Money is recorded with the statement, not with its credit note.")
    amount = to_hundredths(amount)
    paid = sum((payment.amount for payment in locked.payments.all()), ZERO)
    credited = sum((note.gross for note in locked.credit_notes.all()), ZERO)
    outstanding = locked.gross - credited - paid
    if amount > outstanding:
        raise Refused(f"That is more than the {outstanding:,} {locked.currency} outstanding.")
    if paid + amount < 0:
        raise Refused(f"Only {paid:,} {locked.currency} were paid; no more can be given back.")
    if amount < 0 and not note.strip():
        raise Refused("Say why money was given back.")
    if amount == 0:
        raise Refused("Give the amount that was paid.")
    if paid_on > locked.shop.today:
        raise Refused("That day lies in the future; a payment is recorded once it has come in.")
    return Payment.objects.create(
        statement=locked,
        made_by=made_by,
        amount=amount,
        paid_on=paid_on,
        note=note.strip(),
        **identified(entry_id),
    )
