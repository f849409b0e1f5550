"""Money: rounding, mark-up, and totals that add up whatever the charges are."""

import random
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.billing.money import Amount, Tax, add_up, line_net, percent_of, to_hundredths, with_markup

TAXES = [Tax("S", Decimal("20")), Tax("S", Decimal("7.7")), Tax("Z", Decimal(0))]

nets = st.decimals(min_value=-100_000, max_value=100_000, places=2)
amounts = st.builds(Amount, nets, st.sampled_from(TAXES))


@pytest.mark.parametrize(
    ("exact", "rounded"),
    [
        ("0", "0.00"),
        ("0.004", "0.00"),
        ("0.005", "0.01"),
        ("0.015", "0.02"),
        ("0.025", "0.03"),
        ("2.675", "2.68"),
        ("-0.005", "-0.01"),
        ("-0.004", "0.00"),
        ("1.00499999999999999999", "1.00"),
        ("999999999.995", "1000000000.00"),
    ],
)
def test_halves_are_rounded_away_from_zero(exact, rounded):
    assert str(to_hundredths(Decimal(exact))) == rounded


@pytest.mark.parametrize(
    ("quantity", "price", "net"),
    [
        ("1.25", "88.00", "110.00"),
        ("0.333", "0.015", "0.00"),
        ("0.5", "0.01", "0.01"),
        ("3", "0.3333", "1.00"),
        ("0", "88.00", "0.00"),
    ],
)
def test_a_line_s_net_is_quantity_times_price_rounded_once(quantity, price, net):
    assert line_net(Decimal(quantity), Decimal(price)) == Decimal(net)


def test_a_price_for_a_hundred_is_divided_before_rounding():
    assert line_net(Decimal(30), Decimal("12.35"), base_quantity=Decimal(100)) == Decimal("3.71")


def test_a_price_for_none_is_refused():
    with pytest.raises(ValueError, match="more than 0"):
        line_net(Decimal(1), Decimal(1), base_quantity=Decimal(0))


@pytest.mark.parametrize("inexact", [1.5, float("nan"), Decimal("NaN"), Decimal("Infinity"), "1"])
def test_what_is_no_exact_amount_is_refused(inexact):
    with pytest.raises(ValueError, match=r"exact decimal|no amount"):
        to_hundredths(inexact)


def test_a_net_that_was_not_rounded_is_refused():
    with pytest.raises(ValueError, match="already rounded"):
        add_up([Amount(Decimal("1.005"), TAXES[0])])


def test_a_part_is_charged_with_its_mark_up():
    assert with_markup(Decimal("64.90"), Decimal("12.5")) == Decimal("73.01")


def test_nothing_charged_comes_to_nothing():
    totals = add_up([])
    assert (totals.net, totals.tax, totals.gross, totals.taxed) == (0, 0, 0, ())


def test_a_discount_lowers_what_its_own_category_is_taxed_on():
    full, reduced, _ = TAXES
    totals = add_up(
        [Amount(Decimal("100.00"), full), Amount(Decimal("50.00"), reduced)],
        allowances=[Amount(Decimal("10.00"), full)],
    )
    assert [(one.base, one.amount) for one in totals.taxed] == [
        (Decimal("90.00"), Decimal("18.00")),
        (Decimal("50.00"), Decimal("3.85")),
    ]


@settings(max_examples=60, deadline=None)
@given(lines=st.lists(amounts, max_size=40), allowances=st.lists(amounts, max_size=4))
def test_the_total_is_the_lines_less_discounts_plus_each_category_s_tax(lines, allowances):
    totals = add_up(lines, allowances=allowances)
    net = sum(line.net for line in lines) - sum(less.net for less in allowances)
    tax = Decimal(0)
    for category in TAXES:
        base = sum(line.net for line in lines if line.tax == category)
        base -= sum(less.net for less in allowances if less.tax == category)
        tax += percent_of(Decimal(base), category.percent)
    assert totals.gross == net + tax


@settings(max_examples=40, deadline=None)
@given(lines=st.lists(amounts, max_size=30), seed=st.integers(0, 1000))
def test_the_order_of_the_lines_makes_no_difference(lines, seed):
    shuffled = list(lines)
    random.Random(seed).shuffle(shuffled)
    assert add_up(shuffled) == add_up(lines)


@settings(max_examples=60, deadline=None)
@given(
    quantity=st.decimals(min_value=0, max_value=9999, places=3),
    price=st.decimals(min_value=0, max_value=99999, places=4),
)
def test_a_line_s_net_is_within_half_a_cent_of_the_exact_product(quantity, price):
    net = line_net(quantity, price)
    assert abs(net - quantity * price) <= Decimal("0.005")
    assert net == net.quantize(Decimal("0.01"))
