"""The owner proposes a visit, the contractor accepts, moves or declines."""

import uuid
from datetime import date, time, timedelta

import pytest
from django.urls import reverse

from machines.planning import visit_planning
from machines.planning.plans import make_plan
from shop.calendar import services
from shop.calendar.models import Proposal
from shop.calendar.times import Slot
from shop.visits.models import Visit
from shop.web.errors import Refused
from tests import factories


def working_day(ahead_days):
    day = factories.today() + timedelta(days=ahead_days)
    return day + timedelta(days=(7 - day.weekday()) % 7 if day.weekday() > 4 else 0)


@pytest.fixture
def plan(machine, owner):
    return make_plan(
        shop=machine.shop, machine=machine, made_by=owner, what="Way oil", kind="lubrication",
        weeks=1, starts_on=factories.today(),
    )  # fmt: skip


@pytest.fixture
def proposal(shop, firm, contractor, owner, plan, machine):
    return visit_planning.propose(
        shop=shop,
        firm=firm,
        purpose="planned checks",
        slots=[Slot(working_day(10), time(8), time(12)), Slot(working_day(14))],
        pairs=[(plan, machine)],
        made_by=owner,
    )


def answer(client, proposal, **data):
    return client.post(reverse("machines:answer_proposal", args=[proposal.pk]), data)


def test_an_owner_proposes_days_and_checks(client, owner, shop, firm, contractor, plan, machine):
    client.force_login(owner)
    data = {
        "entry_id": uuid.uuid4(),
        "firm": firm.pk,
        "purpose": "planned checks",
        "day_1": working_day(10).isoformat(),
        "time_from_1": "08:00",
        "time_until_1": "12:00",
        "work": [f"{plan.pk}-{machine.pk}"],
    }
    client.post(reverse("machines:propose", args=[shop.pk]), data)
    made = Proposal.objects.get()
    assert (made.state, made.days.get().time_from) == ("with contractor", time(8))
    assert made.wanted.get().plan == plan


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"time_until_1": "07:00"}, "cannot end before it starts"),
        ({"time_until_1": ""}, "Give both times"),
        ({"day_1": "2020-01-06"}, "has passed"),
        ({"day_1": "", "time_from_1": "", "time_until_1": ""}, "This field is required"),
    ],
)
def test_days_that_cannot_be_are_refused(
    client, owner, shop, firm, contractor, machine, changed, says
):
    client.force_login(owner)
    data = {
        "firm": firm.pk,
        "purpose": "checks",
        "day_1": working_day(10).isoformat(),
        "time_from_1": "08:00",
        "time_until_1": "12:00",
    }
    page = client.post(reverse("machines:propose", args=[shop.pk]), data | changed)
    assert says in page.content.decode()
    assert not Proposal.objects.exists()


def test_a_day_on_which_the_shop_is_closed_is_refused(shop, firm, owner):
    day = working_day(10)
    services.close_days(shop=shop, first=day, last=day, why="works holiday", made_by=owner)
    with pytest.raises(Refused, match="works holiday"):
        services.propose(shop=shop, firm=firm, purpose="x", slots=[Slot(day)], made_by=owner)


def test_a_sunday_is_refused_where_sundays_are_closed(shop, firm, owner):
    sunday = date(2030, 1, 6)
    with pytest.raises(Refused, match="closed on Sunday"):
        services.propose(shop=shop, firm=firm, purpose="x", slots=[Slot(sunday)], made_by=owner)


def test_accepting_plans_the_visit_with_what_is_wanted(client, contractor, proposal, plan):
    client.force_login(contractor)
    day = proposal.days.first()
    answer(client, proposal, answer="accept", day=day.pk)
    visit = Visit.objects.get()
    assert (visit.planned_for, visit.planned_from, visit.contractor) == (
        day.day,
        time(8),
        contractor,
    )
    assert visit.wanted.get().plan == plan
    proposal.refresh_from_db()
    assert (proposal.state, proposal.visit) == ("agreed", visit)


def test_what_a_planned_visit_takes_up_is_not_offered_again(client, contractor, proposal, shop):
    client.force_login(contractor)
    answer(client, proposal, answer="accept", day=proposal.days.first().pk)
    assert visit_planning.open_items(shop) == []


def test_accepting_twice_plans_one_visit(client, contractor, proposal):
    client.force_login(contractor)
    for _ in range(2):
        answer(client, proposal, answer="accept", day=proposal.days.first().pk)
    assert Visit.objects.count() == 1


def test_moving_waits_for_the_owner_who_agrees(client, contractor, owner, proposal):
    client.force_login(contractor)
    other = working_day(20)
    answer(
        client, proposal, answer="move", **{"move-day": other.isoformat(), "move-reason": "abroad"}
    )
    proposal.refresh_from_db()
    assert proposal.state == "with owner"
    client.force_login(owner)
    answer(client, proposal, answer="agree")
    visit = Visit.objects.get()
    assert (visit.planned_for, visit.contractor) == (other, contractor)


def test_declining_needs_a_reason(client, contractor, proposal):
    client.force_login(contractor)
    answer(client, proposal, answer="decline", **{"decline-reason": ""})
    proposal.refresh_from_db()
    assert proposal.state == "with contractor"
    answer(client, proposal, answer="decline", **{"decline-reason": "fully booked"})
    proposal.refresh_from_db()
    assert (proposal.state, proposal.steps.get().note) == ("declined", "fully booked")


def test_the_owner_withdraws(client, owner, proposal):
    client.force_login(owner)
    answer(client, proposal, answer="withdraw")
    proposal.refresh_from_db()
    assert proposal.state == "withdrawn"


@pytest.mark.parametrize(
    ("who", "what", "status"),
    [
        ("owner", "accept", 403),
        ("operator", "decline", 403),
        ("contractor", "withdraw", 403),
        ("contractor", "dance", 404),
        ("stranger", "accept", 404),
    ],
)
def test_who_may_answer(client, request, proposal, who, what, status):
    client.force_login(request.getfixturevalue(who))
    assert answer(client, proposal, answer=what).status_code == status


def test_another_firm_does_not_see_the_proposal(client, proposal, shop):
    rival = factories.MembershipFactory(shop=shop, role="contractor").user
    client.force_login(rival)
    assert client.get(proposal.get_absolute_url()).status_code == 404


def test_a_clash_with_another_visit_is_shown_to_the_contractor(client, contractor, proposal, firm):
    elsewhere = factories.ShopFactory(name="Birch Turning")
    factories.MembershipFactory(user=contractor, shop=elsewhere, role="contractor", firm=firm)
    services.plan_visit(
        shop=elsewhere,
        firm=firm,
        contractor=contractor,
        purpose="other work",
        slot=Slot(working_day(10), time(11), time(15)),
        made_by=contractor,
    )
    client.force_login(contractor)
    page = client.get(proposal.get_absolute_url()).content.decode()
    assert "Birch Turning" in page


def test_the_owner_is_not_told_of_other_shops_visits(client, owner, contractor, proposal, firm):
    elsewhere = factories.ShopFactory(name="Birch Turning")
    factories.MembershipFactory(user=contractor, shop=elsewhere, role="contractor", firm=firm)
    services.plan_visit(
        shop=elsewhere, firm=firm, contractor=contractor, purpose="other work",
        slot=Slot(working_day(10)), made_by=contractor,
    )  # fmt: skip
    client.force_login(owner)
    assert "Birch Turning" not in client.get(proposal.get_absolute_url()).content.decode()


@pytest.mark.parametrize(("who", "shown"), [("contractor", True), ("owner", False)])
def test_the_first_page_shows_whose_answer_is_waited_for(client, request, proposal, who, shown):
    client.force_login(request.getfixturevalue(who))
    page = client.get(reverse("shop:home")).content.decode()
    assert ("Asks for a visit" in page) is shown
