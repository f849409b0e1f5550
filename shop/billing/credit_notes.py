"""Credit notes: taking a statement back, whole or by lines and quantities.

What is left of a statement is, to the cent, what a statement of the remaining quantities would have
come to, tax of each category on its sum (EN 16931 BR-CO-17) included; a credit note is the step
from what was left before to what is left after. So no order of credit notes loses or gains a cent.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from shop.visits.models import Visit
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .models import Statement, StatementLine, StatementTax
from .money import ZERO, Tax, line_net, percent_of
from .services import DrawnUp, seal


@dataclass(frozen=True)
class LineLeft:
    """A line as issued, and how much of it no credit note took back."""

    line: StatementLine
    quantity: Decimal

    @property
    def net(self):
        """The net of what is left; negative for a discount."""
        return self.after(Decimal(0))

    @property
    def tax(self):
        return Tax(self.line.tax_code, self.line.tax_percent)

    def after(self, quantity):
        """The net that would be left once `quantity` of it is taken back."""
        sign = -1 if self.line.is_discount else 1
        return sign * line_net(self.quantity - quantity, self.line.price)


def lines_left(statement):
    """Every line of a statement as a `LineLeft`, in its order; two queries."""
    taken = {}
    rows = StatementLine.objects.filter(takes_back__statement=statement)
    for line, quantity in rows.values_list("takes_back", "quantity"):
        taken[line] = taken.get(line, Decimal(0)) + quantity
    return [
        LineLeft(line, line.quantity - taken.get(line.pk, Decimal(0)))
        for line in statement.lines.all()
    ]


@entered_once(Statement)
def issue_credit_note(statement, *, made_by, reason, quantities=None, entry_id=None, at=None):
    """Take back all that is left of a statement, or chosen quantities of its lines.

    quantities: line pk to the quantity taken back, such as {17: Decimal("1.5")}; None for all. Once
    nothing is left, the visit's charges are open again. Raises Refused for a credit note, without
    a reason, for more than is left of a line, and where a discount would outweigh its lines.
    """
    at = at or timezone.now()
    Visit.objects.select_for_update().get(pk=statement.visit_id)
    if statement.is_credit_note:
        raise Refused("A credit note is not credited; issue a new statement instead.")
    if statement.credit_notes.filter(closes=True).exists():
        raise Refused(f"Statement {statement.number} was credited already.")
    if not reason.strip():
        raise Refused("Say why it is credited; it stands on the credit note.")
    left = [one for one in lines_left(statement) if one.quantity]
    taken = _taken(left, quantities)
    note = _note(statement, reason.strip(), at)
    note.closes = all(quantity == one.quantity for one, quantity in taken.items())
    note.closes = note.closes and len(taken) == len(left)
    return seal(
        _drawn(note, left, taken), "CN", made_by=made_by, made_at=at, **identified(entry_id)
    )


def _taken(left, quantities: Mapping[int, Decimal] | None):
    """`LineLeft` to the quantity of it that is taken back, in the statement's order."""
    if quantities is None:
        return {one: one.quantity for one in left}
    wanted = {pk: quantity for pk, quantity in quantities.items() if quantity}
    taken = {one: wanted.pop(one.line.pk) for one in left if one.line.pk in wanted}
    if wanted:
        raise Refused("One of these lines is not the statement's, or nothing is left of it.")
    if not taken:
        raise Refused("Choose at least one line, and how much of it is credited.")
    for one, quantity in taken.items():
        if not 0 < quantity <= one.quantity:
            raise Refused(
                f"Line {one.line.position}, {one.line.text}: {one.quantity.normalize():f} "
                f"{one.line.unit} are left to credit, not {quantity.normalize():f}."
            )
    return taken


def _note(statement, reason, at):
    """A credit note with the statement's own parties and words, not saved."""
    note = Statement.objects.select_related("shop", "firm", "visit").get(pk=statement.pk)
    note.pk = None
    note._state.adding = True
    note.entry_id = Statement._meta.get_field("entry_id").get_default()
    note.kind, note.credits, note.reason = Statement.Kind.CREDIT_NOTE, statement, reason
    note.issued_on, note.due_on = timezone.localdate(at, timezone=note.shop.zone), None
    note.payment_note, note.sealed = "", False
    return note


def _drawn(note, left, taken):
    lines = [
        _line(position, one, quantity)
        for position, (one, quantity) in enumerate(taken.items(), start=1)
    ]
    taxes = _taxes(note.credits, left, taken)
    note.lines_total = sum((line.net for line in lines if line.net > 0), ZERO)
    note.discounts_total = -sum((line.net for line in lines if line.net < 0), ZERO)
    note.net = note.lines_total - note.discounts_total
    note.tax = sum((tax.amount for tax in taxes), ZERO)
    note.gross = note.net + note.tax
    if note.net < 0:
        raise Refused(
            "The discount credited comes to more than the lines; credit its lines with it."
        )
    if sum(one.after(taken.get(one, Decimal(0))) for one in left) < 0:
        raise Refused(
            "The discount that stays would come to more than the lines left; take it back too."
        )
    return DrawnUp(note, lines, taxes, [])


def _line(position, one, quantity):
    line = one.line
    return StatementLine(
        position=position,
        takes_back=line,
        kind=line.kind,
        text=line.text,
        number=line.number,
        quantity=quantity,
        unit=line.unit,
        price=line.price,
        net=one.net - one.after(quantity),
        tax_code=line.tax_code,
        tax_percent=line.tax_percent,
    )


def _taxes(statement, left, taken):
    """Each category's part of what is taken back, by falling rate as on the statement."""
    changed = {one.tax for one in taken}
    taxes = []
    for row in statement.taxes.all():
        tax = Tax(row.code, row.percent)
        if tax not in changed:
            continue
        lines = [one for one in left if one.tax == tax]
        before = sum((one.net for one in lines), ZERO)
        after = sum((one.after(taken.get(one, Decimal(0))) for one in lines), ZERO)
        amount = percent_of(before, tax.percent) - percent_of(after, tax.percent)
        taxes.append(
            StatementTax(
                code=row.code,
                name=row.name,
                percent=row.percent,
                reason=row.reason,
                base=before - after,
                amount=amount,
            )
        )
    return taxes
