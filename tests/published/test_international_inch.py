"""1 in = 25.4 mm exactly: international yard and pound agreement of 1959, from memory."""

from decimal import Decimal

from shop.lengths import format_length, parse_length


def test_an_inch_is_25_4_millimetres_exactly():
    assert parse_length("1 in", "mm") == parse_length("25.4 mm", "mm") == Decimal(25400)


def test_half_a_thou_is_12_7_micrometres_exactly():
    assert parse_length("0.0005", "in") == Decimal("12.7")
    assert format_length(Decimal("12.7"), "mm") == "0.0127"
