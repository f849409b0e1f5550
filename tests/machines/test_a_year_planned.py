"""The whole way of planning: a year planned for six machines, seen in the contractor's own calendar
program, and the next day set by a check that was done."""

import uuid
from datetime import timedelta

from django.urls import reverse
from icalendar import Calendar

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.services import save_check
from machines.planning.models import Plan, PlanClosing
from shop.visits.models import Visit
from shop.visits.services import sign_visit
from tests import factories


def events(client, user):
    """What the person's calendar program reads from the feed's file."""
    client.force_login(user)
    address = client.post(reverse("shop:feed_address"), {"make": "yes"}).context["address"]
    client.logout()
    return [
        (str(event["summary"]), event["dtstart"].dt)
        for event in Calendar.from_ical(client.get(address).content).walk("VEVENT")
    ]


def checks_due(client, user, machine):
    return [
        on for title, on in events(client, user) if f"Check, machine {machine.number}," in title
    ]


def plan_half_yearly_checks(client, owner, shop, machines):
    client.force_login(owner)
    return client.post(
        reverse("machines:new_plan", args=[shop.pk]),
        {
            "entry_id": uuid.uuid4(),
            "targets": [f"machine|{machine.pk}" for machine in machines],
            "what": "Check",
            "kind": "alignment check",
            "every": 6,
            "unit": "months",
            "counts_from": "day done",
            "starts_on": (factories.today() - timedelta(days=170)).isoformat(),
        },
    )


def propose_and_accept(client, owner, contractor, shop, firm, work):
    day = factories.today() + timedelta(days=7)
    day += timedelta(days=(7 - day.weekday()) % 7)  # a Monday
    client.force_login(owner)
    proposed = client.post(
        reverse("machines:propose", args=[shop.pk]),
        {"firm": firm.pk, "purpose": "checks", "day_1": day.isoformat(), "work": work},
        follow=True,
    ).context["proposal"]
    client.force_login(contractor)
    answer = {"answer": "accept", "day": proposed.days.get().pk}
    client.post(reverse("machines:answer_proposal", args=[proposed.pk]), answer)
    return Visit.objects.get()


def test_a_year_is_planned_seen_and_kept_up_by_what_is_done(
    client, owner, contractor, shop, firm, settings
):
    settings.BEFORE_SIGNING = []
    machines = [factories.five_station_machine(shop, number=f"T{n}") for n in range(6)]
    plan_half_yearly_checks(client, owner, shop, machines)
    assert all(len(checks_due(client, contractor, machine)) == 3 for machine in machines[:2])

    plan = Plan.objects.get(machine=machines[0])
    work = [f"{plan.pk}-{machines[0].pk}"]
    visit = propose_and_accept(client, owner, contractor, shop, firm, work)
    assert (f"visit {visit.number}, {shop}", visit.planned_for) in events(client, contractor)

    before = checks_due(client, contractor, machines[0])
    for item in AcceptanceItem.objects.filter(sheet__machine=machines[0]):
        sweep = factories.typed_sweep(1, 1)
        save_check(visit=visit, item=item, phase="as found", sweep=sweep, made_by=contractor)
    sign_visit(visit, contractor=("A", "service"), customer=("B", "owner"))
    after = checks_due(client, contractor, machines[0])
    assert PlanClosing.objects.get().plan == plan
    assert min(after) > factories.today() + timedelta(days=175)
    assert min(after) != min(before)
