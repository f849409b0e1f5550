"""Entering, listing and leaving out meter readings on the pages."""

import uuid
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from machines.register.models import MeterReading
from machines.visit_work.services import read_meter
from shop.visits.models import Visit


def post_reading(client, machine, value, *, query="", **more):
    return client.post(
        reverse("machines:read_meter", args=[machine.pk]) + query,
        {
            "entry_id": uuid.uuid4(),
            "kind": "spindle hours",
            "value": value,
            "read_at": "2025-03-05T14:30",
            **more,
        },
    )


def a_reading(machine, user, value, *, days_ago, **more):
    return read_meter(
        machine=machine,
        made_by=user,
        value=Decimal(value),
        read_at=timezone.now() - timedelta(days=days_ago),
        **more,
    )


def test_an_operator_enters_what_the_meter_shows(client, operator, machine):
    client.force_login(operator)
    response = post_reading(client, machine, "812.5")
    reading = MeterReading.objects.get()
    assert response.url == machine.get_absolute_url()
    assert (reading.value, reading.made_by, reading.visit) == (Decimal("812.5"), operator, None)


def test_times_are_the_shop_s(client, operator, machine):
    """Europe/Zurich is an hour ahead of UTC in March."""
    client.force_login(operator)
    post_reading(client, machine, "812.5")
    assert f"{MeterReading.objects.get().read_at:%H:%M}" == "13:30"


def test_a_reading_sent_twice_is_one(client, operator, machine):
    client.force_login(operator)
    same = uuid.uuid4()
    post_reading(client, machine, "812.5", entry_id=same)
    post_reading(client, machine, "812.5", entry_id=same)
    assert MeterReading.objects.count() == 1


def test_a_meter_that_goes_down_is_refused_and_what_was_typed_stays(client, operator, machine):
    a_reading(machine, operator, "900", days_ago=4000)
    client.force_login(operator)
    page = post_reading(client, machine, "812.5").content.decode()
    assert "The meter goes down" in page
    assert 'value="812.5"' in page


def test_a_replaced_meter_may_start_low(client, operator, machine):
    a_reading(machine, operator, "900", days_ago=4000)
    client.force_login(operator)
    assert post_reading(client, machine, "3.5", new_meter="on").status_code == 302


@pytest.mark.parametrize("value", ["-1", "many", "NaN", "1e30", "12.345"])
def test_what_no_meter_shows_is_refused(client, operator, machine, value):
    client.force_login(operator)
    assert post_reading(client, machine, value).status_code == 200
    assert not MeterReading.objects.exists()


def test_a_reading_of_tomorrow_is_refused(client, operator, machine):
    client.force_login(operator)
    tomorrow = timezone.now() + timedelta(days=2)
    page = post_reading(client, machine, "1", read_at=f"{tomorrow:%Y-%m-%dT%H:%M}")
    assert "in the future" in page.content.decode()


def test_an_hour_the_clocks_skip_is_refused(client, operator, machine):
    """In Zurich the clocks went from 2:00 to 3:00 on 30 March 2025 (Directive 2000/84/EC)."""
    client.force_login(operator)
    page = post_reading(client, machine, "1", read_at="2025-03-30T02:30").content.decode()
    assert not MeterReading.objects.exists()
    assert "There was no 02:30 on that day" in page


def test_in_the_hour_that_comes_twice_a_reading_is_entered(client, operator, machine):
    """On 27 October 2024 it was 02:30 in Zurich at 00:30 UTC and again at 01:30 UTC."""
    client.force_login(operator)
    assert post_reading(client, machine, "1", read_at="2024-10-27T02:30").status_code == 302
    assert MeterReading.objects.get().read_at == datetime(2024, 10, 27, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize("utc_hour", [0, 1])
def test_what_the_page_offers_in_that_hour_is_taken(client, operator, machine, clock, utc_hour):
    clock.move_to(datetime(2027, 10, 31, utc_hour, 30, tzinfo=UTC))
    client.force_login(operator)
    offered = client.get(reverse("machines:read_meter", args=[machine.pk])).context["form"]
    assert offered["read_at"].value() == datetime(2027, 10, 31, 2, 30)
    assert post_reading(client, machine, "1", read_at="2027-10-31T02:30").status_code == 302


def test_a_phone_s_clock_may_be_a_minute_ahead(client, operator, machine):
    """What a device says was read a minute from now was read now."""
    client.force_login(operator)
    ahead = timezone.now() + timedelta(minutes=1)
    assert post_reading(client, machine, "1", read_at=ahead.isoformat()).status_code == 302
    assert MeterReading.objects.get().read_at <= timezone.now()


def test_a_reading_at_a_visit_belongs_to_it_and_starts_the_work(client, contractor, machine, visit):
    client.force_login(contractor)
    post_reading(client, machine, "812.5", query=f"?visit={visit.pk}")
    visit.refresh_from_db()
    assert MeterReading.objects.get().visit == visit
    assert visit.state == Visit.State.ON_SITE
    assert visit.visited.get().machine == machine


def test_only_the_contractor_reads_at_a_visit(client, operator, machine, visit):
    client.force_login(operator)
    assert post_reading(client, machine, "1", query=f"?visit={visit.pk}").status_code == 403


@pytest.mark.parametrize("name", ["meters", "read_meter"])
def test_strangers_find_no_meters(client, stranger, machine, name):
    client.force_login(stranger)
    assert client.get(reverse(f"machines:{name}", args=[machine.pk])).status_code == 404


def test_a_reading_left_out_counts_no_longer_but_stays_on_the_list(client, operator, machine):
    a_reading(machine, operator, "100", days_ago=20)
    wrong = a_reading(machine, operator, "9000", days_ago=10)
    client.force_login(operator)
    leave = reverse("machines:leave_reading_out", args=[wrong.pk])
    client.post(leave, {"why": "typed a nought too many"})
    a_reading(machine, operator, "200", days_ago=1)
    page = client.get(reverse("machines:meters", args=[machine.pk])).content.decode()
    assert "does not count: typed a nought too many" in page


def test_leaving_out_needs_a_reason(client, operator, machine):
    reading = a_reading(machine, operator, "100", days_ago=20)
    client.force_login(operator)
    client.post(reverse("machines:leave_reading_out", args=[reading.pk]), {"why": "  "})
    reading.refresh_from_db()
    assert reading.counts


def test_the_first_of_a_new_meter_cannot_be_left_out_while_lower_ones_follow(
    client, operator, machine
):
    a_reading(machine, operator, "900", days_ago=30)
    first = a_reading(machine, operator, "1", days_ago=20, new_meter=True)
    a_reading(machine, operator, "50", days_ago=10)
    client.force_login(operator)
    page = client.post(
        reverse("machines:leave_reading_out", args=[first.pk]), {"why": "not the first"}
    )
    first.refresh_from_db()
    assert "The meter goes down" in page.content.decode()
    assert first.counts


def test_readings_are_taken_out_as_csv(client, operator, machine):
    a_reading(machine, operator, "1234.5", days_ago=1)
    client.force_login(operator)
    response = client.get(reverse("machines:meters", args=[machine.pk]) + "?_export=csv")
    assert b"spindle hours,1234.5" in response.content


def test_the_page_of_meters_costs_the_same_with_many_readings(
    client, operator, machine, django_assert_max_num_queries
):
    client.force_login(operator)
    url = reverse("machines:meters", args=[machine.pk])
    for count in (2, 20):
        for n in range(count):
            a_reading(machine, operator, str(100 * count + n), days_ago=300 - 10 * count - n / 100)
        with django_assert_max_num_queries(8):
            client.get(url)
