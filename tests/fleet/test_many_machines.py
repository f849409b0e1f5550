"""What pages leave out for somebody who looks after very many machines."""

import pytest
from django.urls import reverse

from machines.drive.models import Belt
from machines.planning import due_page
from machines.register.models import Machine
from shop.people.models import User
from shop.web.listing import whole_number


@pytest.fixture
def owner(fleet, client):
    """An owner in the fleet, signed in, who sees four machines."""
    machine = Machine.objects.first()
    user = User.objects.get(memberships__shop=machine.shop, memberships__role="owner")
    client.force_login(user)
    return user


def test_machines_are_chosen_after_their_shop_where_there_are_many(owner, client, monkeypatch):
    address, machine = reverse("machines:due"), Machine.objects.visible_to(owner).first()
    assert 'name="machine"' in client.get(address).content.decode()
    monkeypatch.setattr(due_page, "MOST_TO_CHOOSE_FROM", 3)
    client.force_login(User.objects.get(username="everywhere"))
    drawn = client.get(address).content.decode()
    assert 'name="machine"' not in drawn
    assert "Then its machines can be chosen." in drawn
    assert 'name="machine"' in client.get(f"{address}?shop={machine.shop_id}").content.decode()
    chosen = client.get(f"{address}?machine={machine.pk}").content.decode()
    assert f'<option value="{machine.pk}" selected>' in chosen


@pytest.mark.parametrize("text", ["", "-1", "1.5", "²", "x", "9" * 19, "9" * 5000])
def test_a_text_that_no_key_could_be_is_no_number(text):
    assert whole_number(text) is None


def test_a_number_in_an_address_is_that_number():
    assert whole_number("9" * 18) == 10**18 - 1


@pytest.mark.parametrize("digits", [20, 5000])
def test_a_key_of_very_many_digits_names_nothing(owner, client, digits):
    machine = Machine.objects.visible_to(owner).first()
    belt, nines = Belt.objects.filter(machine=machine).first(), "9" * digits
    for address in (
        reverse("machines:year", args=[machine.shop_id]) + f"?year={nines}",
        reverse("machines:inspect_belt", args=[belt.pk]) + f"?visit={nines}",
        reverse("machines:read_meter", args=[machine.pk]) + f"?visit={nines}",
        reverse("alignment:placed", args=[machine.pk]) + f"?visit={nines}",
    ):
        assert client.get(address).status_code == 404, address
    for address in ("/due/together/?weeks=", "/due/?machine=", "/calendar/?month=2999-"):
        assert client.get(address + nines).status_code == 200, address


def test_the_calendar_looks_no_century_ahead(owner, client):
    far = client.get("/calendar/?month=2999-01").context["month"]
    near = client.get("/calendar/").context["month"]
    assert far == near
