"""What is due stands in a table: it says what working it out now would say, whatever happened."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from machines.planning import visit_planning
from machines.planning.board import due_items
from machines.planning.due_times import items_of, standing_dues
from machines.planning.entries import due_days
from machines.planning.models import DueTime
from machines.planning.plans import end_plan, make_plan, mark_done, want_at
from machines.register.models import Machine
from shop.people.models import Shop
from tests import factories

ALL = Shop.objects.all


def plan_for(machine, user, **fields):
    given = {"what": "oil the bushing", "kind": "lubrication", "starts_on": date(2026, 1, 5)}
    return make_plan(shop=machine.shop, machine=machine, made_by=user, **(given | fields))


def told(items):
    return [(i.plan.pk, i.machine.pk, i.due, i.bucket, i.uid, i.visit) for i in items]


def in_the_table():
    return items_of(standing_dues(ALL()).next_times())


def holds():
    """The table says what the arithmetic says, in its order."""
    assert told(in_the_table()) == told(due_items(Machine.objects.all()))
    return True


def test_it_follows_all_that_happens_to_a_plan(machine, owner, visit):
    oil, grease = plan_for(machine, owner, weeks=1), plan_for(machine, owner, after_incident=True)
    assert holds()
    mark_done(oil, machine, made_by=owner)
    assert holds()
    factories.IncidentFactory(machine=machine)
    assert len(in_the_table()) == 2
    assert holds()
    want_at(visit, [(oil, machine)])
    assert in_the_table()[1].visit == visit
    assert holds()
    end_plan(grease, by=owner)
    assert len(in_the_table()) == 1
    assert holds()
    machine.out_of_service_on = date(2026, 1, 5)
    machine.save()
    assert in_the_table() == []


def test_it_follows_the_days(machine, owner, monkeypatch):
    plan_for(machine, owner, days=3, starts_on=factories.today())
    assert in_the_table()[0].bucket != "overdue"
    later = timezone.now() + timedelta(days=5)
    monkeypatch.setattr(timezone, "now", lambda: later)
    assert in_the_table()[0].bucket == "overdue"
    assert holds()


def test_a_change_at_one_shop_leaves_the_other_s_rows_as_they_are(machine, owner):
    plan_for(machine, owner, weeks=1)
    other = factories.MachineFactory()
    plan_for(other, owner, weeks=1)
    in_the_table()
    before = set(DueTime.objects.filter(shop=other.shop).values_list("pk", flat=True))
    factories.IncidentFactory(machine=machine)
    in_the_table()
    assert set(DueTime.objects.filter(shop=other.shop).values_list("pk", flat=True)) == before


def test_while_nothing_changes_it_takes_two_queries(machine, owner, django_assert_num_queries):
    plan_for(machine, owner, weeks=1)
    in_the_table()
    with django_assert_num_queries(2):
        in_the_table()


@pytest.fixture
def busy(owner):
    """Three shops with twelve pieces of work each, spread over a year."""
    for number in range(3):
        shop = factories.ShopFactory(name=f"Shop {number}")
        for n in range(12):
            machine = factories.MachineFactory(shop=shop)
            plan_for(machine, owner, days=30 + 31 * n + number, starts_on=factories.today())
    return ALL().filter(name__startswith="Shop ")


@pytest.mark.parametrize("early_days", [0, 14, 91])
def test_trips_by_pages_are_the_same_trips(busy, early_days):
    dues = visit_planning.dues_to_plan(busy)
    whole = visit_planning.shop_trips(busy, dues, early_days)
    pages = [
        trip
        for first in range(0, len(whole) + 4, 4)
        for trip in visit_planning.shop_trips(busy, dues, early_days, first=first, most=4)
    ]
    assert pages == whole
    assert sum(len(trip.keys) for trip in whole) == 36
    assert whole == sorted(whole, key=lambda trip: (trip.on, trip.shop.name))


def test_of_much_work_a_trip_names_the_first_and_takes_all_along(busy, monkeypatch):
    monkeypatch.setattr(visit_planning, "MOST_OF_TRIP", 5)
    trip = visit_planning.shop_trips(busy, visit_planning.dues_to_plan(busy), 400)[0]
    assert (len(trip.items), len(trip.keys), trip.left_out) == (5, 12, 7)


def test_a_crowded_day_tells_how_many_more_there_are_and_where(client, owner, shop):
    for _ in range(7):
        plan_for(factories.MachineFactory(shop=shop), owner, days=3, starts_on=factories.today())
    day = factories.today() + timedelta(days=3)
    found = due_days(owner, day, day, 4)
    assert [entry.short for entry in found if entry.of_many] == ["and 3 more"]
    assert len(found) == 5
    client.force_login(owner)
    page = client.get(found[-1].url)
    assert page.content.decode().count("oil the bushing") == 7
    assert str(day.year) in page.content.decode()


def test_far_ahead_the_calendar_works_out_what_no_table_holds(machine, owner):
    plan_for(machine, owner, years=1, starts_on=factories.today())
    first = factories.today() + timedelta(days=3 * 365 - 5)
    found = due_days(owner, first, first + timedelta(days=10))
    assert [entry.kind for entry in found] == ["due"]


@pytest.mark.parametrize("day", ["soon", "2026-02-30", "9999-01-01"])
def test_a_day_that_is_none_shows_the_month(client, owner, day):
    client.force_login(owner)
    page = client.get(reverse("shop:calendar"), {"day": day})
    assert page.status_code == 200
    assert page.context["day"] is None
