"""PINs that anybody would try first are refused; those that are left are kept hashed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.people.devices.pins import why_refused
from shop.people.devices.services import set_pin
from shop.web.errors import Refused

DIGITS = "0123456789"


@pytest.mark.parametrize("pin", ["4831", "90217", "385014", "27182818", "1231", "2591"])
def test_a_pin_that_is_no_pattern_is_taken(pin):
    assert why_refused(pin) == ""


@pytest.mark.parametrize(
    ("pin", "why"),
    [
        ("123", "4 to 8 digits"),
        ("123456789", "4 to 8 digits"),
        ("", "4 to 8 digits"),
        ("12a4", "4 to 8 digits"),
        ("48 31", "4 to 8 digits"),
        ("٤٨٣١", "4 to 8 digits"),
        ("0000", "over and over"),
        ("77777777", "over and over"),
        ("1234", "in a row"),
        ("7890", "in a row"),
        ("43210", "in a row"),
        ("0987", "in a row"),
        ("1212", "again and again"),
        ("123123", "again and again"),
        ("48314831", "again and again"),
        ("1984", "A year"),
        ("2012", "A year"),
    ],
)
def test_a_pin_that_is_tried_first_is_refused_with_the_reason(pin, why):
    assert why in why_refused(pin)


@given(st.sampled_from(DIGITS), st.integers(4, 8))
def test_one_digit_over_and_over_is_refused_at_any_length(digit, length):
    assert why_refused(digit * length)


@given(st.text(DIGITS, min_size=2, max_size=4))
def test_whatever_is_repeated_is_refused(run):
    assert why_refused(run + run)


def test_the_pin_itself_is_not_kept(operator):
    set_pin(operator, "4831")
    assert "4831" not in operator.pin.hashed


def test_a_poor_pin_is_refused_whoever_asks(operator):
    with pytest.raises(Refused, match="tried first"):
        set_pin(operator, "1111")
    assert not hasattr(operator, "pin")
