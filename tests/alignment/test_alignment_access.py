"""Who may see and do what on the alignment pages: strangers find nothing, readers write nothing."""

import pytest
from django.urls import reverse

from tests.factories import (
    MembershipFactory,
    ShopFactory,
    VisitFactory,
    five_station_machine,
    item_of,
    station_of,
)

READ, WORK = "read", "work"
PAGES = {
    "sheet": READ,
    "check": READ,
    "check_picture": READ,
    "item": READ,
    "series_picture": READ,
    "series_csv": READ,
    "drift_picture": READ,
    "track_picture": READ,
    "forecast_csv": READ,
    "moves_csv": READ,
    "sweep": WORK,
    "adjust": WORK,
    "try_picture": WORK,
}
PICTURE = {"front": "1", "up": "2", "phase": "as found", "unit": "mm"}


@pytest.fixture
def addresses(machine, taken_up, bore, sweep_of):
    check = sweep_of(bore)
    station = station_of(machine, "guide bushing")
    of_what = {
        "sheet": [machine.pk],
        "check": [check.pk],
        "check_picture": [check.pk],
        "item": [bore.pk],
        "series_picture": [bore.pk],
        "series_csv": [bore.pk],
        "drift_picture": [bore.pk],
        "track_picture": [bore.pk],
        "forecast_csv": [bore.pk],
        "moves_csv": [bore.pk],
        "sweep": [taken_up.pk, bore.pk],
        "adjust": [taken_up.pk, station.pk],
        "try_picture": [taken_up.pk, bore.pk],
    }
    return {name: reverse(f"alignment:{name}", args=args) for name, args in of_what.items()}


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("role", ["owner", "operator", "contractor", "stranger"])
def test_page(client, request, addresses, role, name):
    client.force_login(request.getfixturevalue(role))
    may = role == "contractor" or PAGES[name] == READ
    expected = 404 if role == "stranger" else 200 if may else 403
    assert client.get(addresses[name], PICTURE).status_code == expected


@pytest.mark.parametrize("name", PAGES)
def test_nobody_signed_in_is_sent_to_sign_in(client, addresses, name):
    response = client.get(addresses[name])
    assert (response.status_code, response.url.split("?")[0]) == (302, reverse("shop:sign_in"))


@pytest.mark.parametrize(("role", "status"), [("owner", 403), ("operator", 403), ("stranger", 404)])
@pytest.mark.parametrize("name", ["sweep", "adjust", "try_sweep"])
def test_only_the_contractor_writes(client, request, addresses, taken_up, bore, role, status, name):
    client.force_login(request.getfixturevalue(role))
    address = addresses.get(name) or reverse("alignment:try_sweep", args=[taken_up.pk, bore.pk])
    assert client.post(address, {"save": "check"}).status_code == status


@pytest.mark.parametrize("name", [name for name, kind in PAGES.items() if kind == READ])
def test_pages_to_read_take_nothing_sent(at_work, addresses, name):
    assert at_work.post(addresses[name]).status_code == 405


def test_a_membership_that_ended_opens_nothing(client, owner, addresses):
    from django.utils import timezone

    owner.memberships.update(ended_at=timezone.now())
    client.force_login(owner)
    assert {client.get(address, PICTURE).status_code for address in addresses.values()} == {404}


@pytest.fixture
def elsewhere(contractor, firm):
    """A machine of another shop that the same contractor serves."""
    shop = ShopFactory(name="Birch Turning")
    MembershipFactory(user=contractor, shop=shop, role="contractor", firm=firm)
    return five_station_machine(shop, number="B1")


@pytest.mark.parametrize("name", ["sweep", "try_picture"])
def test_an_item_of_another_shop_s_machine_is_not_measured_here(at_work, visit, elsewhere, name):
    item = item_of(elsewhere, "guide bushing")
    address = reverse(f"alignment:{name}", args=[visit.pk, item.pk])
    assert at_work.get(address, PICTURE).status_code == 404


def test_a_station_of_another_shop_s_machine_is_not_moved_here(at_work, visit, elsewhere):
    station = station_of(elsewhere, "guide bushing")
    assert at_work.get(reverse("alignment:adjust", args=[visit.pk, station.pk])).status_code == 404


def test_a_visit_to_another_shop_is_worked_on_by_its_own_contractor_only(at_work, bore):
    other = VisitFactory()
    assert at_work.get(reverse("alignment:sweep", args=[other.pk, bore.pk])).status_code == 404
