"""A machine's timeline narrowed by kind, by day and by station, and taken out as it is shown."""

import csv
from datetime import UTC, datetime
from io import StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from alignment.adjusting.services import record_adjustment
from machines.drive import inspecting
from machines.incidents import services as incidents_services
from machines.incidents import stopping
from machines.incidents.models import IncidentStation
from machines.visit_work import services as visit_work_services
from shop.visits.models import Visit
from shop.visits.services import open_visit
from tests import factories
from tests.pages import history_of as show


@pytest.fixture
def life(machine, operator, contractor, firm):
    """A knock at the sub-spindle on the 3rd, a visit with an adjustment on the 4th, a belt looked
    at on the 9th."""
    incident = incidents_services.log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3),
        what_hit="drill",
        hit_what="collet",
        severity="knock",
        may_run=True,
    )
    sub_spindle = factories.station_of(machine, "sub-spindle")
    IncidentStation.objects.create(incident=incident, station=sub_spindle)
    visit = open_visit(
        shop=machine.shop,
        firm=firm,
        contractor=contractor,
        purpose="after the knock",
        made_by=contractor,
        made_at=factories.at(4, 8),
    )
    visit_work_services.add_machine_to_visit(visit, machine, incident=incident)
    record_adjustment(
        visit=visit,
        station=sub_spindle,
        what="turned back",
        made_by=contractor,
        made_at=factories.at(4, 10),
    )
    Visit.objects.filter(pk=visit.pk).update(arrived_at=factories.at(4, 8))
    inspecting.inspect_belt(
        belt=machine.belts.first(), made_by=operator, teeth={}, made_at=factories.at(9)
    )
    return machine


def kinds(page):
    return [event.kind for event in page.context["events"]]


def test_one_kind_shows_nothing_else(client, owner, life):
    assert kinds(show(client, owner, life, kind="inspections")) == ["belt inspection"]
    assert kinds(show(client, owner, life, kind="visits")) == ["visit"]


def test_a_station_shows_what_hit_it_and_what_was_done_to_it(client, owner, life):
    sub_spindle = factories.station_of(life, "sub-spindle")
    page = show(client, owner, life, station=sub_spindle.pk)
    assert kinds(page) == ["adjustment", "incident"]
    untouched = factories.station_of(life, "gang tools")
    assert kinds(show(client, owner, life, station=untouched.pk)) == []


def test_a_station_s_incidents_alone(client, owner, life):
    sub_spindle = factories.station_of(life, "sub-spindle")
    page = show(client, owner, life, station=sub_spindle.pk, kind="incidents")
    assert kinds(page) == ["incident"]


def test_both_days_of_a_range_belong_to_it(client, owner, life):
    page = show(client, owner, life, first="2025-03-03", last="2025-03-04")
    assert kinds(page) == ["adjustment", "visit", "incident"]
    assert kinds(show(client, owner, life, first="2025-03-05")) == ["belt inspection"]
    assert kinds(show(client, owner, life, last="2025-03-03")) == ["incident"]


@pytest.mark.parametrize(("minute", "days"), [(59, 1), (0, 0)])
def test_a_day_ends_at_midnight_in_the_shop_s_zone(client, owner, machine, operator, minute, days):
    """Zurich is an hour ahead of UTC in winter: 22:59 UTC is the 3rd there, 23:00 the 4th."""
    hour = 22 if minute else 23
    happened = datetime(2025, 3, 3, hour, minute, tzinfo=UTC)
    incidents_services.log_incident(
        machine=machine, made_by=operator, happened_at=happened, kind="noise", may_run=True
    )
    assert len(kinds(show(client, owner, machine, last="2025-03-03"))) == days


def test_a_range_that_ends_before_it_begins_is_refused_at_its_end(client, owner, life):
    page = show(client, owner, life, first="2025-03-04", last="2025-03-01")
    assert page.context["filters"].errors == {
        "last": ["This is before 4 Mar 2025; expected that day or a later one."]
    }
    assert page.context["events"] == []
    assert 'value="2025-03-01"' in page.content.decode()


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("kind", "gossip", "no kind of event called gossip"),
        ("station", "999999", "no such station"),
        ("station", "first", "no such station"),
        ("first", "last week", "expected such as 2025-03-05"),
        ("last", "9999-12-31", "Expected a day from 1970 to 2200"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(client, owner, life, name, typed, said):
    page = show(client, owner, life, **{name: typed})
    assert page.status_code == 200
    assert said in page.context["filters"].errors[name][0]


def test_another_machine_s_station_is_none_of_this_one(client, owner, life):
    other = factories.five_station_machine(life.shop, number="M2")
    page = show(client, owner, life, station=other.stations.first().pk)
    assert "station" in page.context["filters"].errors


def test_a_machine_nothing_happened_to_says_what_to_do(client, owner, machine):
    page = show(client, owner, machine).content.decode()
    assert reverse("alignment:log_incident", args=[machine.pk]) in page


def test_the_list_goes_out_as_it_is_filtered(client, owner, life):
    answer = show(client, owner, life, kind="adjustments", _export="csv")
    head, *rows = csv.reader(StringIO(answer.content.decode()))
    assert head == ["when", "kind", "what", "more", "by", "address"]
    assert [row[:3] for row in rows] == [["2025-03-04 11:00", "adjustment", "Sub-spindle adjusted"]]
    assert rows[0][5].startswith("http://testserver/")


def test_all_of_a_long_list_goes_out_not_a_page_of_it(client, owner, machine):
    stop_and_go(machine, owner, times=30)
    answer = show(client, owner, machine, kind="standstills", _export="csv")
    assert len(answer.content.decode().splitlines()) == 1 + 2 * 30


def test_a_filter_stays_on_the_pages_that_follow(client, owner, machine):
    stop_and_go(machine, owner, times=30)
    page = show(client, owner, machine, kind="standstills").content.decode()
    assert "kind=standstills&amp;before=" in page


def test_the_page_costs_the_same_however_long_the_history(client, owner, machine):
    stop_and_go(machine, owner, times=3)
    few = queries_of(client, owner, machine)
    stop_and_go(machine, owner, times=30, month=4)
    assert queries_of(client, owner, machine) == few <= 12


def queries_of(client, person, machine):
    client.force_login(person)
    with CaptureQueriesContext(connection) as ran:
        client.get(reverse("machines:history", args=[machine.pk]))
    return len(ran)


def stop_and_go(machine, person, *, times, month=3):
    for day in range(1, times + 1):
        stopping.stop_machine(machine, at=factories.at(day, month=month))
        stopping.release_machine(
            machine, by=person, reason="seen", at=factories.at(day, 12, month=month)
        )
