"""The first day on an empty site, with the keyboard alone: who you are, the firm, a customer."""

import pytest

from shop.models import Firm, Shop, User

from .keyboard import Keyboard

pytestmark = pytest.mark.browser
WORDS = "indicator-and-brass-drift"


def begin(keys):
    """A person and a firm; the browser knows its own time zone and country."""
    keys.open("/", "Begin")
    keys.fill("Your name", "Nell Rook").fill("Mail address", "nell@rook.example")
    keys.fill("Password", WORDS).fill("Password again", WORDS)
    keys.choose("a service firm", "a service firm")
    keys.fill("Its name", "Rook Alignment").fill("Its address", "4 Weighbridge Yard")
    keys.to("Country")
    keys.to("Time zone")
    return keys.press("Begin", "Today")


def add_customer(keys):
    keys.press("Add a customer", "Add a customer")
    keys.fill("Name", "Pintlow Works").fill("Address", "2 Sluice Lane")
    keys.fill("Phone", "555 0177")
    return keys.press("Add the customer", "Pintlow Works")


def test_a_firm_and_its_first_customer_are_there_within_a_few_keys(window):
    page = window(locale="en-US", timezone_id="America/Chicago")
    keys = Keyboard(page)

    begin(keys)
    assert Firm.objects.values_list("currency", "time_zone", "length_unit", "paper_size").get() == (
        "USD", "America/Chicago", "in", "Letter",
    )  # fmt: skip
    add_customer(keys)

    shop = Shop.objects.get()
    assert (shop.kept_by.name, shop.country, shop.length_unit) == ("Rook Alignment", "US", "in")
    assert User.objects.get().name == "Nell Rook"
    assert (keys.pages, keys.fields) <= (5, 11), (keys.pages, keys.fields)
    keys.to("Skip to the page")
    assert "/admin/" not in page.content()
