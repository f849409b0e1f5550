"""Totals against EN 16931, the European standard for electronic statements of charges.

Figures: CEN's example 2 (`ubl-tc434-example2.xml`, ConnectingEurope/eInvoicing-EN16931). The file
prints 1273.00 as the net of line 1 beside a quantity of 2 and a price of 1273.00, so line 1 serves
for the totals only, not for quantity × price.
"""

from decimal import Decimal

import pytest

from shop.billing.money import Amount, Tax, add_up, line_net, to_hundredths

STANDARD = Tax("S", Decimal(25))
REDUCED = Tax("S", Decimal(15))
EXEMPT = Tax("E", Decimal(0))

# (net as printed, category). The printed sums by category are 1460.50, 1.00 and -25.00.
LINES = [
    ("1273.00", STANDARD),
    ("-3.96", REDUCED),
    ("4.96", REDUCED),
    ("-25.00", EXEMPT),
    ("187.50", STANDARD),
]


def example():
    amounts = [Amount(Decimal(net), tax) for net, tax in LINES]
    hundred = [Amount(Decimal(100), STANDARD)]
    return add_up(amounts, allowances=hundred, charges=hundred, paid=Decimal("1000.00"))


@pytest.mark.parametrize(
    ("figure", "printed"),
    [
        ("lines", "1436.50"),
        ("allowances", "100.00"),
        ("charges", "100.00"),
        ("net", "1436.50"),
        ("tax", "365.28"),
        ("gross", "1801.78"),
        ("paid", "1000.00"),
        ("due", "801.78"),
    ],
)
def test_the_example_comes_to_the_printed_totals(figure, printed):
    assert getattr(example(), figure) == Decimal(printed)


@pytest.mark.parametrize(
    ("tax", "base", "amount"),
    [(STANDARD, "1460.50", "365.13"), (REDUCED, "1.00", "0.15"), (EXEMPT, "-25.00", "0.00")],
)
def test_each_category_of_the_example_has_the_printed_tax(tax, base, amount):
    (category,) = [one for one in example().taxed if one.tax == tax]
    assert (category.base, category.amount) == (Decimal(base), Decimal(amount))


@pytest.mark.parametrize(
    ("quantity", "price", "net"),
    [
        ("-1", "3.96", "-3.96"),
        ("2", "2.48", "4.96"),
        ("-1", "25.00", "-25.00"),
        ("250", "0.75", "187.50"),
    ],
)
def test_the_lines_of_the_example_are_quantity_times_price(quantity, price, net):
    assert line_net(Decimal(quantity), Decimal(price)) == Decimal(net)


def test_tax_is_rounded_half_up_where_half_even_would_lose_a_cent():
    # BR-CO-17, "half up" in the standard's own schematron: 1460.50 × 25 % = 365.125.
    assert to_hundredths(Decimal("365.125")) == Decimal("365.13")


def test_tax_is_worked_out_on_the_category_s_sum_and_not_line_by_line():
    # BR-CO-17: three lines of 0.10 at 15 % are 0.045 together, 0.05; each alone would give 0.02.
    totals = add_up([Amount(Decimal("0.10"), REDUCED)] * 3)
    assert totals.tax == Decimal("0.05")
