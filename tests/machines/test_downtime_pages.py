"""How long machines stood and ran: by month and cause, on a machine's page, a shop's and in the
year."""

import csv
from datetime import UTC, date, datetime, timedelta
from io import StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from machines.history.downtimes import causes_of, month_rows, times_of, total_of
from machines.incidents import services, stopping
from machines.planning.year import year_of
from machines.register.models import Machine, ServiceBreak, Standstill
from tests import factories
from tests.pages import tight

NOW = datetime(2025, 6, 1, 12, tzinfo=UTC)


def hours(count):
    return timedelta(hours=count)


@pytest.fixture
def stood(machine, operator, owner):
    """On record since 1 March; a crash on the 3rd, stopped for 48 hours; a stop without an
    incident on 10 April for 6."""
    factories.metered(machine, owner, {factories.at(1): 100})
    services.log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3),
        kind="hit",
        severity="hard",
        may_run=False,
    )
    stopping.release_machine(machine, by=owner, reason="ran true", at=factories.at(5))
    stopping.stop_machine(machine, at=factories.at(10, month=4))
    stopping.release_machine(machine, by=owner, reason="seen", at=factories.at(10, 15, month=4))
    return machine


def rows_of(machine, now=NOW):
    return times_of(Machine.objects.filter(pk=machine.pk), date(2025, 1, 1), 12, now=now)


def test_a_stop_counts_by_what_brought_it(stood):
    (row,) = rows_of(stood)
    assert row.times.by_cause == {
        "Crash": hours(48),
        "Stopped without an incident": hours(6),
    }


def test_time_counts_from_the_first_record_on(stood):
    """From 1 March 9:00 UTC to 1 June 12:00 UTC are 92 days and 3 hours."""
    (row,) = rows_of(stood)
    assert row.since == factories.at(1)
    assert row.times.stopped + row.times.running == timedelta(days=92, hours=3)


def test_a_machine_without_any_record_neither_stood_nor_ran(machine):
    (row,) = rows_of(machine)
    assert (row.since, row.times.stopped, row.times.running) == (None, hours(0), hours(0))


def test_one_still_stopped_counts_to_now(machine):
    stopping.stop_machine(machine, at=NOW - hours(30))
    (row,) = rows_of(machine)
    assert row.times.stopped == hours(30)


def test_a_day_out_of_service_counts_for_neither(stood, owner):
    ServiceBreak.objects.create(
        machine=stood, out_on=date(2025, 5, 1), reason="mothballed", made_by=owner
    )
    (row,) = rows_of(stood)
    may = row.times.months[4]
    assert (may.running, may.out) == (hours(0), timedelta(days=31))


def test_a_stop_of_the_year_before_does_not_count(machine):
    Standstill.objects.create(
        machine=machine,
        began_at=datetime(2024, 12, 1, tzinfo=UTC),
        ended_at=datetime(2024, 12, 31, 23, tzinfo=UTC),
    )
    (row,) = rows_of(machine)
    assert row.times.stopped == hours(0)


def test_the_longest_stopped_machine_comes_first(stood, shop):
    other = factories.MachineFactory(shop=shop, number="A1")
    stopping.stop_machine(other, at=NOW - hours(90))
    rows = times_of(Machine.objects.filter(shop=shop), date(2025, 1, 1), 12, now=NOW)
    assert [row.machine.number for row in rows] == ["A1", "M1"]
    assert causes_of(rows) == ["Stopped without an incident", "Crash"]
    assert total_of(month_rows(rows)).by_cause == (hours(96), hours(48))


def test_the_months_of_the_page_add_up_to_its_year(stood):
    months = month_rows(rows_of(stood))
    assert [month.stopped for month in months[2:4]] == [hours(48), hours(6)]
    assert total_of(months).stopped == hours(54)


def show(client, person, name, pk, **query):
    client.force_login(person)
    return client.get(reverse(f"machines:{name}", args=[pk]), query)


def test_the_machine_s_page_leads_to_its_months(client, operator, stood):
    client.force_login(operator)
    text = client.get(stood.get_absolute_url()).content.decode()
    assert reverse("machines:downtime", args=[stood.pk]) in text


def test_the_page_shows_hours_by_month_and_cause(client, operator, stood):
    text = show(client, operator, "downtime", stood.pk, year=2025).content.decode()
    assert tight('data-label="Crash">48.0</td>') in tight(text)
    assert "March" in text


def test_the_shop_s_page_is_for_its_desk(client, request, stood):
    statuses = {"owner": 200, "contractor": 200, "operator": 403, "stranger": 404}
    for role, status in statuses.items():
        page = show(client, request.getfixturevalue(role), "shop_downtime", stood.shop_id)
        assert page.status_code == status


@pytest.mark.parametrize("year", ["last", "1066", "99999"])
def test_a_year_that_is_none_is_not_found(client, owner, machine, year):
    assert show(client, owner, "downtime", machine.pk, year=year).status_code == 404


def test_without_a_record_the_page_says_what_to_do(client, owner, machine):
    text = show(client, owner, "downtime", machine.pk).content.decode()
    assert reverse("machines:read_meter", args=[machine.pk]) in text


def test_hours_go_out_by_machine_month_and_cause(client, owner, stood):
    answer = show(client, owner, "shop_downtime", stood.shop_id, year=2025, _export="csv")
    head, *rows = csv.reader(StringIO(answer.content.decode()))
    assert head == ["machine", "month", "what", "hours"]
    assert ["M1", "2025-03", "Crash", "48.0"] in rows
    assert ["M1", "2025-04", "Stopped without an incident", "6.0"] in rows


def test_the_owner_s_year_names_the_machines_that_stood(client, owner, stood):
    found = year_of(stood.shop, 2025, owner, NOW)
    assert [month.stopped for month in found.months[2:4]] == [hours(48), hours(6)]
    assert found.stopped == hours(54)
    text = show(client, owner, "year", stood.shop_id, year=2025).content.decode()
    assert tight("crash 48.0 h") in tight(text)


def test_the_shop_s_page_costs_the_same_however_much_stood(client, owner, stood, shop):
    few = queries_of(client, owner, shop)
    for number in range(2, 12):
        machine = factories.MachineFactory(shop=shop, number=f"M{number}")
        stopping.stop_machine(machine, at=factories.at(2))
        stopping.release_machine(machine, by=owner, reason="seen", at=factories.at(3))
        stopping.stop_machine(machine, at=factories.at(4))
    assert queries_of(client, owner, shop) == few <= 20


def queries_of(client, person, shop):
    client.force_login(person)
    with CaptureQueriesContext(connection) as ran:
        client.get(reverse("machines:shop_downtime", args=[shop.pk]), {"year": 2025})
    return len(ran)
