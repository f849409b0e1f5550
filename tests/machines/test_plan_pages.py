"""Making, changing and ending plans, and marking them done, on the pages."""

import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from machines.planning.models import Plan, PlanClosing
from machines.planning.plans import make_plan
from tests import factories


@pytest.fixture
def plan(machine, owner):
    return make_plan(
        shop=machine.shop,
        machine=machine,
        made_by=owner,
        what="Way oil",
        kind="lubrication",
        weeks=1,
        starts_on=factories.today() - timedelta(days=30),
    )


def fill(target, **changed):
    """The form as filled in for a machine, or for what `targets` names."""
    given = {
        "entry_id": uuid.uuid4(),
        "targets": [f"machine|{target.pk}"],
        "what": "Check the chain",
        "kind": "alignment check",
        "every": 6,
        "unit": "months",
        "counts_from": "day done",
        "starts_on": "2026-01-31",
    }
    return {name: value for name, value in (given | changed).items() if value is not None}


def post(client, shop, data):
    return client.post(reverse("machines:new_plan", args=[shop.pk]), data)


def test_an_owner_plans_a_check_every_six_months(client, owner, shop, machine):
    client.force_login(owner)
    assert post(client, shop, fill(machine)).status_code == 302
    plan = Plan.objects.get()
    assert (plan.machine, plan.months, plan.made_by) == (machine, 6, owner)


def test_six_machines_are_planned_in_one_go(client, owner, shop):
    machines = factories.MachineFactory.create_batch(6, shop=shop)
    client.force_login(owner)
    post(client, shop, fill(machines[0], targets=[f"machine|{m.pk}" for m in machines]))
    assert {plan.machine for plan in Plan.objects.all()} == set(machines)


def test_a_form_sent_twice_makes_its_plans_once(client, owner, shop):
    machines = factories.MachineFactory.create_batch(2, shop=shop)
    client.force_login(owner)
    data = fill(machines[0], targets=[f"machine|{m.pk}" for m in machines])
    post(client, shop, data)
    post(client, shop, data)
    assert Plan.objects.count() == 2


def test_a_plan_for_a_model_is_one_plan(client, owner, shop):
    factories.MachineFactory.create_batch(3, shop=shop, model_name="20-5")
    client.force_login(owner)
    post(client, shop, fill(shop, targets=["model|20-5"]))
    assert Plan.objects.get().model_name == "20-5"


def test_a_machine_and_its_model_are_not_planned_twice(client, owner, shop):
    first, _second = factories.MachineFactory.create_batch(2, shop=shop, model_name="20-5")
    client.force_login(owner)
    page = post(client, shop, fill(first, targets=[f"machine|{first.pk}", "model|20-5"]))
    assert "would have the plan twice" in page.content.decode()


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"every": 0}, "greater than or equal to 1"),
        ({"every": None}, "needs an interval above zero"),
        ({"every": 600, "unit": "years"}, "more than 50 years"),
        ({"spindle_hours": "-5"}, "greater than or equal to 1"),
        ({"starts_on": "31 February"}, "Enter a valid date"),
        ({"targets": []}, "For which?"),
        ({"subjects": ["belt|guide bushing belt"]}, "does not go with that kind of work"),
        ({"cost": "-1"}, "greater than or equal to 0"),
    ],
)
def test_what_makes_no_plan_is_refused_at_the_field(client, owner, shop, machine, changed, says):
    client.force_login(owner)
    page = post(client, shop, fill(machine, **changed))
    assert says in page.content.decode()
    assert not Plan.objects.exists()


def test_a_station_the_machine_lacks_is_refused(client, owner, shop, machine):
    bare = factories.MachineFactory(shop=shop, number="bare")
    client.force_login(owner)
    data = fill(bare, subjects=["alignment check|sub-spindle"])
    assert "Machine bare has no sub-spindle" in post(client, shop, data).content.decode()


def test_a_usual_plan_starts_filled_in(client, owner, shop, machine):
    client.force_login(owner)
    url = reverse("machines:new_plan", args=[shop.pk])
    page = client.get(url + f"?start=belts&machine={machine.pk}").content.decode()
    assert 'value="Look at the belts, tooth by tooth"' in page


@pytest.mark.parametrize(
    ("who", "name", "status"),
    [
        ("owner", "new_plan", 200),
        ("contractor", "new_plan", 200),
        ("operator", "new_plan", 403),
        ("stranger", "new_plan", 404),
        ("operator", "propose", 403),
        ("owner", "propose", 200),
        ("contractor", "propose", 403),
        ("owner", "plan_visit", 403),
        ("contractor", "plan_visit", 200),
        ("stranger", "plan_visit", 404),
    ],
)
def test_who_may_plan_for_a_shop(client, request, shop, who, name, status):
    client.force_login(request.getfixturevalue(who))
    assert client.get(reverse(f"machines:{name}", args=[shop.pk])).status_code == status


@pytest.mark.parametrize(
    ("who", "name", "status"),
    [
        ("operator", "plan", 200),
        ("stranger", "plan", 404),
        ("operator", "change_plan", 403),
        ("owner", "change_plan", 200),
        ("operator", "end_plan", 403),
        ("stranger", "end_plan", 404),
    ],
)
def test_who_may_see_and_change_a_plan(client, request, plan, who, name, status):
    client.force_login(request.getfixturevalue(who))
    assert client.get(reverse(f"machines:{name}", args=[plan.pk])).status_code == status


def test_changing_a_plan_starts_from_what_it_says(client, owner, plan):
    client.force_login(owner)
    page = client.get(reverse("machines:change_plan", args=[plan.pk])).content.decode()
    assert 'value="Way oil"' in page


def test_a_changed_plan_says_so(client, owner, plan, machine):
    client.force_login(owner)
    data = fill(machine, targets=None, what="Way oil and filter", kind="lubrication", every=2)
    client.post(reverse("machines:change_plan", args=[plan.pk]), data)
    plan.refresh_from_db()
    assert (plan.what, plan.months, plan.weeks) == ("Way oil and filter", 2, 0)


def done_url(plan, machine, name="plan_done"):
    return reverse(f"machines:{name}", args=[plan.pk, machine.pk])


def test_an_operator_marks_work_done(client, operator, plan, machine):
    client.force_login(operator)
    now = timezone.localtime(timezone=machine.shop.zone)
    data = {"entry_id": uuid.uuid4(), "at": f"{now:%Y-%m-%dT%H:%M}", "note": "topped up"}
    page = client.post(done_url(plan, machine), data, follow=True).content.decode()
    assert "Way oil, machine M1: done. Next on" in page
    assert PlanClosing.objects.get().made_by == operator


@pytest.mark.parametrize("utc_hour", [0, 1])
def test_work_is_marked_done_in_the_hour_that_comes_twice(
    client, operator, plan, machine, clock, utc_hour
):
    """In Zurich it is 02:30 at 00:30 UTC and again at 01:30 UTC; the first is meant."""
    clock.move_to(datetime(2027, 10, 31, utc_hour, 40, tzinfo=UTC))
    client.force_login(operator)
    data = {"entry_id": uuid.uuid4(), "at": "2027-10-31T02:30"}
    client.post(done_url(plan, machine), data)
    assert PlanClosing.objects.get().counted_from == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)


def test_work_is_marked_done_by_a_clock_that_is_a_minute_ahead(client, operator, plan, machine):
    client.force_login(operator)
    ahead = timezone.now() + timedelta(minutes=1)
    client.post(done_url(plan, machine), {"entry_id": uuid.uuid4(), "at": ahead.isoformat()})
    assert PlanClosing.objects.get().counted_from <= timezone.now()


def test_an_operator_does_not_skip(client, operator, plan, machine):
    client.force_login(operator)
    assert client.get(done_url(plan, machine, "plan_skip")).status_code == 403


@pytest.mark.parametrize(("who", "offered"), [("operator", False), ("owner", True)])
def test_skipping_is_offered_only_at_the_desk(client, request, plan, machine, who, offered):
    client.force_login(request.getfixturevalue(who))
    for url in (reverse("machines:due"), plan.get_absolute_url(), machine.get_absolute_url()):
        assert (done_url(plan, machine, "plan_skip") in client.get(url).content.decode()) is offered


def test_skipping_asks_for_the_reason(client, owner, plan, machine):
    client.force_login(owner)
    page = client.post(done_url(plan, machine, "plan_skip"), {"reason": ""}).content.decode()
    assert "This field is required" in page
    assert not PlanClosing.objects.exists()


def test_the_page_of_due_work_tells_why_in_one_phrase(client, owner, plan):
    client.force_login(owner)
    page = client.get(reverse("machines:due")).content.decode()
    assert "every week, never done" in page
    assert "1 overdue" in page


def test_due_work_is_shown_by_kind(client, owner, plan):
    client.force_login(owner)
    page = client.get(reverse("machines:due") + "?kind=belt").content.decode()
    assert "Nothing of this is due" in page


def test_due_work_is_taken_out_as_csv(client, owner, plan):
    client.force_login(owner)
    content = client.get(reverse("machines:due") + "?_export=csv").content.decode()
    assert "overdue," in content
    assert "Way oil" in content


def test_nobody_sees_another_shop_s_due_work(client, stranger, plan):
    client.force_login(stranger)
    assert "Way oil" not in client.get(reverse("machines:due")).content.decode()


def test_a_contractor_sees_what_goes_together_over_all_shops(client, contractor, plan, firm):
    other = factories.ShopFactory(name="Birch Turning")
    factories.MembershipFactory(user=contractor, shop=other, role="contractor", firm=firm)
    there = factories.MachineFactory(shop=other)
    make_plan(
        shop=other, machine=there, made_by=contractor, what="Belts", kind="belt", days=40,
        starts_on=factories.today(),
    )  # fmt: skip
    client.force_login(contractor)
    page = client.get(reverse("machines:trips")).content.decode()
    assert "Alder Screw Works, by" in page
    assert "Birch Turning, by" in page
