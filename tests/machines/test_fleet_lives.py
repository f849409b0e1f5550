"""Life statistics over the machines a person may see."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from machines.drive.lifetimes import fleet_lives
from machines.drive.services import fit
from machines.register.models import Machine
from tests import factories


def life(machine, person, hours, why):
    """A bearing that ran `hours` and came out, on a machine of its own shop's."""
    now = timezone.now()
    start = now - timedelta(days=400)
    bearing = factories.BearingFactory(machine=machine, fitted_on=start.date())
    if not machine.meter_readings.exists():
        factories.metered(machine, person, {start: 0, now: 4000})
    fit(bearing, made_by=person, why=why, made_at=start + timedelta(days=hours / 10))
    return bearing


def bearings(machine):
    (known,) = [
        one
        for one in fleet_lives(Machine.objects.filter(shop=machine.shop))
        if one.type == "bearing 61907"
    ]
    return known


def test_what_wore_out_failed_and_what_came_out_good_is_still_running(machine, owner):
    life(machine, owner, 1000, "worn")
    life(machine, owner, 2000, "crash")
    known = bearings(machine)
    assert [round(hours) for hours in known.failures_h] == [pytest.approx(1000, abs=12)]
    assert len(known.running_h) == 3  # the one a crash took, and two that are in


def test_one_failure_alone_is_not_enough(client, machine, owner):
    life(machine, owner, 1000, "broke")
    client.force_login(owner)
    assert "One failure alone" in client.get(reverse("machines:lives")).content.decode()


def test_all_units_still_running_give_no_life(client, machine, owner):
    life(machine, owner, 1000, "planned")
    client.force_login(owner)
    assert (
        "has failed, so there is no life" in client.get(reverse("machines:lives")).content.decode()
    )


def shown(client, owner):
    client.force_login(owner)
    page = client.get(reverse("machines:lives"), {"planned": 100, "breakdown": 1000})
    return page.content.decode()


def test_few_failures_carry_no_age_and_say_what_the_figures_rest_on(client, machine, owner):
    for hours in (1700, 1900):
        life(machine, owner, hours, "worn")
    text = shown(client, owner)
    assert "from 2 failures and" in text
    assert "two shapes in three between" in text
    assert "not clear whether it wears out" in text
    assert "No replacement age yet" in text


def test_failures_enough_tell_the_cheapest_age(client, machine, owner):
    for hours in (1700, 1900, 2100, 2000, 1800, 1950, 2050):
        life(machine, owner, hours, "worn")
    text = shown(client, owner)
    assert "wears out" in text
    assert "less than running to failure" in text


def test_lives_of_another_shop_are_not_counted(client, machine, owner, stranger):
    life(machine, owner, 1000, "worn")
    client.force_login(stranger)
    assert "61907" not in client.get(reverse("machines:lives")).content.decode()


@pytest.mark.parametrize("count", [1, 4])
def test_the_page_costs_the_same_however_many_lives(
    client, machine, owner, count, django_assert_max_num_queries
):
    for place in range(count):
        life(machine, owner, 1000 + 100 * place, "worn")
    client.force_login(owner)
    client.get(reverse("machines:lives"))
    with django_assert_max_num_queries(9):
        client.get(reverse("machines:lives"))


def test_only_the_owner_sets_thresholds(client, shop, operator, owner):
    url = reverse("machines:thresholds", args=[shop.pk])
    for person, status in ((operator, 403), (owner, 200)):
        client.force_login(person)
        assert client.get(url).status_code == 200
        assert client.post(url, {"zone_a_mm_s": "3"}).status_code == status
    assert "common practice" in client.get(url).content.decode()
