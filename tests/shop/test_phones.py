"""Phone numbers become `tel:` addresses of RFC 3966, 5.1.4 (global) and 5.1.5 (local)."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.web.phones import phone_link

# RFC 3966, 3: a global number is "+" and digits; a local one needs a context.
GLOBAL = re.compile(r"tel:\+\d+")
LOCAL = re.compile(r"tel:\d+(;phone-context=\+\d+)?")


@pytest.mark.parametrize(
    ("typed", "country", "link"),
    [
        # The RFC's own examples, section 6, written as people write them.
        ("+1-201-555-0123", "", "tel:+12015550123"),
        ("863-1234", "US", "tel:8631234;phone-context=+1"),
        # Common practice, no source: the 0 in front is left out from abroad.
        ("(201) 555-0123", "US", "tel:+12015550123"),
        ("020 7946 0123", "GB", "tel:+442079460123"),
        ("+44 (0)20 7946 0123", "GB", "tel:+442079460123"),
        ("0044 20 7946 0123", "DE", "tel:+442079460123"),
        ("555 0142", "", "tel:5550142"),
        ("555 0142 ext 7", "", "tel:5550142"),
        ("ask at the gate", "GB", ""),
    ],
)
def test_a_number_as_typed_dials(typed, country, link):
    assert phone_link(typed, country) == link


@given(st.text(max_size=40), st.sampled_from(["", "US", "GB", "DE", "IT", "XX"]))
def test_whatever_is_typed_gives_a_valid_address_or_none(typed, country):
    link = phone_link(typed, country)
    assert not link or GLOBAL.fullmatch(link) or LOCAL.fullmatch(link)
