"""Money: lines, discounts and tax as EN 16931 adds them up. Free of Django; exact decimals only.

Every amount is rounded half up to hundredths where the standard rounds, and nowhere else:

- a line's net is quantity × price / base quantity, rounded (the price itself is not, BR-DEC);
- the sum of lines is the sum of rounded nets (BR-CO-10);
- what is taxed is that sum less allowances plus charges (BR-CO-13);
- tax is worked out for each category on its sum, never for each line (BR-CO-17);
- the total is net plus the categories' tax (BR-CO-15), and what is due is that less what was paid
  (BR-CO-16).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext

HUNDREDTH = Decimal("0.01")
ZERO = Decimal("0.00")
LARGEST = Decimal("1e12")


@dataclass(frozen=True, order=True)
class Tax:
    """A tax category: its EN 16931 code, such as "S", and its rate in percent."""

    code: str
    percent: Decimal


@dataclass(frozen=True)
class Amount:
    """A net amount in hundredths and the category it is taxed in."""

    net: Decimal
    tax: Tax


@dataclass(frozen=True)
class Taxed:
    """One category's sum, and the tax on it."""

    tax: Tax
    base: Decimal
    amount: Decimal


@dataclass(frozen=True)
class Totals:
    """What a statement comes to; all amounts in hundredths."""

    lines: Decimal
    allowances: Decimal
    charges: Decimal
    net: Decimal
    taxed: tuple[Taxed, ...]
    tax: Decimal
    gross: Decimal
    paid: Decimal

    @property
    def due(self):
        """What is still to be paid (BR-CO-16)."""
        return self.gross - self.paid


def to_hundredths(amount: Decimal) -> Decimal:
    """`amount` rounded half up, away from zero at the half: 365.125 is 365.13, -0.005 is -0.01.

    Raises ValueError for what is not an exact, finite decimal below a million million.
    """
    _check(amount)
    with localcontext(prec=60):
        rounded = amount.quantize(HUNDREDTH, rounding=ROUND_HALF_UP)
    return rounded or ZERO


def line_net(quantity: Decimal, price: Decimal, *, base_quantity: Decimal = Decimal(1)) -> Decimal:
    """A line's net amount, rounded half up to hundredths.

    base_quantity: how many the price is for. Raises ValueError unless it is above zero.
    """
    for number in (quantity, price, base_quantity):
        _check(number)
    if base_quantity <= 0:
        raise ValueError(f"A price is for more than {base_quantity}; expected 1 or another amount.")
    with localcontext(prec=60):
        return to_hundredths(quantity * price / base_quantity)


def percent_of(amount: Decimal, percent: Decimal) -> Decimal:
    """`percent` of an amount, rounded half up to hundredths."""
    _check(amount)
    _check(percent)
    with localcontext(prec=60):
        return to_hundredths(amount * percent / 100)


def with_markup(cost: Decimal, percent: Decimal) -> Decimal:
    """A cost with a mark-up on it, in hundredths. Raises ValueError below -100 %."""
    if percent < -100:
        raise ValueError(f"A mark-up of {percent} % would pay people to take the part.")
    return to_hundredths(cost) + percent_of(cost, percent)


def add_up(
    lines: Iterable[Amount],
    *,
    allowances: Iterable[Amount] = (),
    charges: Iterable[Amount] = (),
    paid: Decimal = ZERO,
) -> Totals:
    """What lines, discounts (`allowances`) and additions (`charges`) come to, with tax.

    The order of the lines makes no difference. No lines come to zero. Raises ValueError for a net
    amount with more than two decimals, which has not been rounded yet.
    """
    lines, allowances, charges = list(lines), list(allowances), list(charges)
    for amount in (*lines, *allowances, *charges):
        _check_rounded(amount.net)
    taxed = _taxed(lines, allowances, charges)
    net = _sum(lines) - _sum(allowances) + _sum(charges)
    tax = sum((one.amount for one in taxed), ZERO)
    return Totals(
        lines=_sum(lines),
        allowances=_sum(allowances),
        charges=_sum(charges),
        net=net,
        taxed=taxed,
        tax=tax,
        gross=net + tax,
        paid=paid,
    )


def _taxed(lines, allowances, charges):
    """Each category's sum and tax, by falling rate."""
    bases = {}
    for sign, amounts in ((1, lines), (-1, allowances), (1, charges)):
        for amount in amounts:
            bases[amount.tax] = bases.get(amount.tax, ZERO) + sign * amount.net
    return tuple(
        Taxed(tax, bases[tax], percent_of(bases[tax], tax.percent))
        for tax in sorted(bases, key=lambda tax: (-tax.percent, tax.code))
    )


def _sum(amounts):
    return sum((amount.net for amount in amounts), ZERO)


def _check(number):
    if not isinstance(number, Decimal):
        raise ValueError(f"{number!r} is not an exact decimal; expected one, such as 12.50.")
    if not number.is_finite() or abs(number) >= LARGEST:
        raise ValueError(f"{number} is no amount; expected less than a million million.")


def _check_rounded(net):
    _check(net)
    if net != to_hundredths(net):
        raise ValueError(f"{net} is not in hundredths; expected a line's net, already rounded.")
