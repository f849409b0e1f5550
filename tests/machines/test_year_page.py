"""The owner's year: planned and done per month, cost, on time, machines never checked."""

from datetime import UTC, date, datetime, time
from decimal import Decimal

import pytest
from django.urls import reverse

from machines.planning.models import PlanClosing
from machines.planning.plans import make_plan
from machines.planning.year import year_of
from tests import factories

NOW = datetime(2026, 6, 15, 12, tzinfo=UTC)


@pytest.fixture
def plan(machine, owner):
    """Every three months from 10 January 2026: 10 April, 10 July, 10 October."""
    return make_plan(
        shop=machine.shop, machine=machine, made_by=owner, what="oil", kind="lubrication",
        months=3, starts_on=date(2026, 1, 10), counts_from="day due", cost=Decimal("120.50"),
    )  # fmt: skip


def close(plan, due_on, done_on, outcome="done", note=""):
    return PlanClosing.objects.create(
        plan=plan,
        machine=plan.machine,
        made_by=plan.made_by,
        outcome=outcome,
        due_on=due_on,
        counted_from=datetime.combine(done_on, time(12), tzinfo=UTC),
        note=note,
    )


def months(plan, name):
    return [getattr(month, name) for month in year_of(plan.shop, 2026, plan.made_by, NOW).months]


def test_what_is_due_is_planned_in_its_month_to_the_end_of_the_year(shop, plan):
    close(plan, date(2026, 4, 10), date(2026, 4, 9))
    assert months(plan, "planned") == [0, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0]


def test_what_was_done_counts_in_the_month_it_was_done(shop, plan):
    close(plan, date(2026, 4, 10), date(2026, 5, 2))
    assert months(plan, "done") == [0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0]


def test_what_was_skipped_is_not_done(shop, plan):
    close(plan, date(2026, 4, 10), date(2026, 4, 10), "skipped", "machine idle")
    year = year_of(shop, 2026, plan.made_by, NOW)
    assert (year.total("done"), year.total("skipped")) == (0, 1)


def test_planned_cost_is_the_expected_cost_of_each_time(shop, plan):
    close(plan, date(2026, 4, 10), date(2026, 4, 10))
    assert year_of(shop, 2026, plan.made_by, NOW).totals["planned_cost"] == Decimal("361.50")


def test_the_share_on_time_is_of_what_was_done(shop, plan):
    close(plan, date(2026, 1, 10), date(2026, 1, 10))
    close(plan, date(2026, 4, 10), date(2026, 4, 12))
    close(plan, date(2026, 4, 10), date(2026, 4, 10), "skipped", "idle")
    year = year_of(shop, 2026, plan.made_by, NOW)
    assert (year.on_time, year.timed, year.share_on_time) == (1, 2, 50)


def test_before_anything_was_done_there_is_no_share(shop, plan):
    assert year_of(shop, 2026, plan.made_by, NOW).share_on_time is None


def test_a_machine_neither_visited_nor_worked_on_was_never_checked(shop, plan, machine):
    other = factories.MachineFactory(shop=shop, number="M2")
    close(plan, date(2026, 4, 10), date(2026, 4, 10))
    year = year_of(shop, 2026, plan.made_by, NOW)
    assert year.never_checked == (other,)
    assert year.unplanned == (other,)


def test_a_machine_out_of_service_is_not_missed(shop, plan):
    factories.MachineFactory(shop=shop, number="M2", out_of_service_on=date(2026, 1, 1))
    assert year_of(shop, 2026, plan.made_by, NOW).unplanned == ()


def test_what_was_charged_is_asked_of_the_books(shop, plan, settings):
    settings.MONEY_SOURCES = [("spending", "tests.machines.books_stub.charged")]
    assert months(plan, "spent")[2] == Decimal("75.25")


def test_what_was_charged_in_another_currency_is_named_and_not_added_in(shop, plan, settings):
    settings.MONEY_SOURCES = [("spending", "tests.machines.books_stub.charged")]
    year = year_of(shop, 2026, plan.made_by, NOW)
    assert (year.currency, year.totals["spent"]) == ("EUR", Decimal("75.25"))
    assert year.spent_elsewhere == (("CHF", Decimal("10")),)


def test_the_year_is_taken_out_as_csv(client, clock, owner, shop, plan):
    clock.move_to(NOW)
    client.force_login(owner)
    url = reverse("machines:year", args=[shop.pk])
    lines = client.get(url + "?year=2026&_export=csv").content.decode().splitlines()
    assert len(lines) == 13
    assert lines[1].startswith("2026-01,")


@pytest.mark.parametrize(
    ("who", "status"), [("owner", 200), ("contractor", 200), ("operator", 403), ("stranger", 404)]
)
def test_who_may_see_the_year(client, request, shop, who, status):
    client.force_login(request.getfixturevalue(who))
    assert client.get(reverse("machines:year", args=[shop.pk])).status_code == status


@pytest.mark.parametrize("year", ["soon", "0", "99999", "-1"])
def test_a_year_that_is_none_is_not_found(client, owner, shop, year):
    client.force_login(owner)
    url = reverse("machines:year", args=[shop.pk])
    assert client.get(url, {"year": year}).status_code == 404


@pytest.mark.parametrize("count", [1, 8])
def test_the_year_costs_the_same_for_many_machines(
    shop, owner, count, django_assert_max_num_queries
):
    for number in range(count):
        machine = factories.MachineFactory(shop=shop, number=str(number))
        made = make_plan(
            shop=shop, machine=machine, made_by=owner, what="oil", kind="lubrication", months=1,
            starts_on=date(2026, 1, 10),
        )  # fmt: skip
        close(made, date(2026, 2, 10), date(2026, 2, 10))
    with django_assert_max_num_queries(17):
        year_of(shop, 2026, owner, NOW)
