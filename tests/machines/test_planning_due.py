"""What is due: plans, machines, meters and incidents brought together."""

from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from machines.planning.board import due_items, find_item
from machines.planning.models import Plan
from machines.planning.plans import change_plan, end_plan, make_plan, mark_done, reopen_plan, skip
from machines.register.models import Machine
from machines.visit_work.services import read_meter
from shop.web.errors import Refused
from tests import factories

ALL = Machine.objects.all
# Days are those of the shop, wherever the tests run and at whatever hour.
ZURICH = ZoneInfo("Europe/Zurich")


def plan_for(machine, user, **fields):
    given = {"what": "check the chain", "kind": "alignment check", "starts_on": days_ago(100)}
    return make_plan(shop=machine.shop, machine=machine, made_by=user, **(given | fields))


def days_ago(days):
    return timezone.localdate(timezone=ZURICH) - timedelta(days=days)


def dues(**more):
    return [
        (item.machine.number, item.due.on, item.due.reason) for item in due_items(ALL(), **more)
    ]


def test_a_plan_by_the_month_is_due_a_month_after_its_start(machine, owner):
    plan_for(machine, owner, months=1, starts_on=date(2026, 1, 31))
    assert dues() == [("M1", date(2026, 2, 28), "every month, never done")]


def test_of_time_and_hours_the_first_to_come_counts(machine, owner, contractor):
    now = timezone.now()
    for days, value in ((100, 0), (50, 400), (1, 792)):  # 8 h a day
        read_meter(
            machine=machine, made_by=owner, value=Decimal(value), read_at=now - timedelta(days=days)
        )
    plan_for(machine, owner, years=1, spindle_hours=1000)
    item = find_item(Plan.objects.get(), machine)
    assert item.due.kind == "spindle hours"
    assert item.due.on < days_ago(0) + timedelta(days=60)


def test_hours_passed_on_the_meter_are_overdue_and_say_how_far(machine, owner):
    now = timezone.now()
    for days, value in ((90, 0), (1, 2140)):
        read_meter(
            machine=machine, made_by=owner, value=Decimal(value), read_at=now - timedelta(days=days)
        )
    plan_for(machine, owner, spindle_hours=2000)
    (item,) = due_items(ALL())
    assert (item.bucket, item.due.reason) == ("overdue", "2,140 of 2,000 h")


def test_a_plan_for_a_model_is_due_on_every_machine_of_it(shop, owner):
    for number in ("1", "2"):
        factories.MachineFactory(shop=shop, number=number, model_name="20-5")
    factories.MachineFactory(shop=shop, number="3", model_name="32-7")
    make_plan(
        shop=shop, model_name="20-5", made_by=owner, what="oil", kind="lubrication", weeks=1,
        starts_on=days_ago(1),
    )  # fmt: skip
    assert [number for number, _on, _why in dues()] == ["1", "2"]


def test_a_machine_out_of_service_has_nothing_due(machine, owner):
    plan_for(machine, owner, months=1)
    machine.out_of_service_on = days_ago(0)
    machine.save()
    assert dues() == []


def test_no_plan_is_made_for_a_machine_out_of_service(machine, owner):
    machine.out_of_service_on = days_ago(0)
    with pytest.raises(Refused, match="out of service"):
        plan_for(machine, owner, months=1)


@pytest.mark.parametrize("interval", [{}, {"months": 0}, {"spindle_hours": 0}])
def test_a_plan_without_an_interval_is_refused(machine, owner, interval):
    with pytest.raises(Refused, match=r"above zero|more than zero"):
        plan_for(machine, owner, **interval)


def test_after_an_incident_a_check_is_due_that_day(machine, owner):
    plan_for(machine, owner, after_incident=True)
    assert dues() == []
    factories.IncidentFactory(machine=machine)
    assert [on for _number, on, _why in dues()] == [days_ago(0)]


def test_doing_it_starts_the_next_from_the_day_done(machine, owner):
    plan = plan_for(machine, owner, days=30)
    mark_done(plan, machine, made_by=owner)
    today = timezone.localdate(timezone=machine.shop.zone)
    assert find_item(plan, machine).due.on == today + timedelta(days=30)


def test_a_plan_in_step_with_the_calendar_keeps_its_days(machine, owner):
    plan = plan_for(machine, owner, days=30, starts_on=days_ago(40), counts_from="day due")
    mark_done(plan, machine, made_by=owner)  # ten days late
    assert find_item(plan, machine).due.on == days_ago(40) + timedelta(days=60)


def test_what_became_of_it_keeps_the_day_and_the_reason(machine, owner):
    plan = plan_for(machine, owner, days=30, starts_on=days_ago(40))
    closing = mark_done(plan, machine, made_by=owner)
    assert (closing.due_on, closing.on_time) == (days_ago(10), False)
    assert closing.why_due == "every 30 days, never done"


def test_skipping_needs_a_reason(machine, owner):
    plan = plan_for(machine, owner, days=30)
    with pytest.raises(Refused, match="Say why"):
        skip(plan, machine, made_by=owner, reason=" ")


def test_skipping_early_counts_from_the_day_it_was_due(machine, owner):
    plan = plan_for(machine, owner, days=30, starts_on=days_ago(10))
    skip(plan, machine, made_by=owner, reason="machine is idle")
    assert find_item(plan, machine).due.on == days_ago(10) + timedelta(days=60)


def test_a_skip_stands_in_the_machine_s_history(client, machine, owner):
    plan = plan_for(machine, owner, days=30)
    skip(plan, machine, made_by=owner, reason="machine is idle")
    client.force_login(owner)
    page = client.get(reverse("machines:history", args=[machine.pk])).content.decode()
    assert "Skipped because: machine is idle" in page


def test_it_is_not_done_in_the_future(machine, owner):
    plan = plan_for(machine, owner, days=30)
    with pytest.raises(Refused, match="future"):
        mark_done(plan, machine, made_by=owner, at=timezone.now() + timedelta(hours=1))


def test_it_is_not_done_before_it_was_last_done(machine, owner):
    plan = plan_for(machine, owner, days=30)
    mark_done(plan, machine, made_by=owner)
    with pytest.raises(Refused, match="already"):
        mark_done(plan, machine, made_by=owner, at=timezone.now() - timedelta(days=1))


def test_a_mistake_taken_back_makes_it_due_as_before(machine, owner):
    plan = plan_for(machine, owner, days=30)
    before = find_item(plan, machine).due
    reopen_plan(mark_done(plan, machine, made_by=owner), by=owner)
    assert find_item(plan, machine).due == before


def test_an_ended_plan_is_due_no_more(machine, owner):
    plan = plan_for(machine, owner, days=30)
    end_plan(plan, by=owner)
    assert dues() == []
    with pytest.raises(Refused, match="ended"):
        mark_done(plan, machine, made_by=owner)


def test_a_plan_says_nothing_of_another_machine(shop, machine, owner):
    plan = plan_for(machine, owner, days=30)
    other = factories.MachineFactory(shop=shop)
    with pytest.raises(Refused, match="says nothing"):
        mark_done(plan, other, made_by=owner)


def test_a_changed_interval_counts_from_the_last_time_done(machine, owner):
    plan = plan_for(machine, owner, days=30)
    mark_done(plan, machine, made_by=owner)
    change_plan(plan, days=0, weeks=1)
    today = timezone.localdate(timezone=machine.shop.zone)
    assert find_item(plan, machine).due.on == today + timedelta(days=7)


def test_the_risk_of_drift_is_asked_of_whoever_forecasts_it(machine, owner, settings):
    others = [one for one in settings.PLANNING_SOURCES if one[0] != "risk dates"]
    settings.PLANNING_SOURCES = [*others, ("risk dates", "tests.machines.risk_stub.by_percent")]
    plan_for(machine, owner, at_risk_percent=20, kind="alignment check")
    (item,) = due_items(ALL())
    assert item.due.reason == "risk of drift reaches 20 %"
    assert item.due.on == date(2030, 1, 20)


def test_the_day_belongs_to_the_shop_s_zone(shop, owner):
    """At 23:30 UTC on 31 March it is 1 April in Zurich, an hour ahead or two."""
    machine = factories.MachineFactory(shop=shop)
    plan_for(machine, owner, days=1, starts_on=date(2026, 3, 30))
    now = datetime.fromisoformat("2026-03-31T23:30:00+00:00")
    (item,) = due_items(ALL(), now=now)
    assert (item.due.on, item.bucket) == (date(2026, 3, 31), "overdue")


@pytest.mark.parametrize("machines", [2, 12])
def test_what_is_due_costs_the_same_for_many_machines(
    shop, owner, machines, django_assert_max_num_queries
):
    for number in range(machines):
        made = factories.MachineFactory(shop=shop, number=str(number))
        plan_for(made, owner, months=1, spindle_hours=100, after_incident=True)
    with django_assert_max_num_queries(8):
        assert len(due_items(ALL())) == machines


def test_an_item_keeps_its_uid_until_it_is_done(machine, owner):
    plan = plan_for(machine, owner, days=30)
    before = find_item(plan, machine).uid
    change_plan(plan, days=40)
    assert find_item(plan, machine).uid == before
    mark_done(plan, machine, made_by=owner)
    assert find_item(plan, machine).uid != before
