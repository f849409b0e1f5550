"""Taking a machine out of service and putting it back: with a day, a reason and a name."""

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from machines.incidents.stopping import stop_machine
from machines.planning.board import due_items
from machines.planning.plans import make_plan
from machines.register.breaks import put_back_in_service, take_out_of_service
from machines.register.models import Machine, ServiceBreak
from shop.web.errors import Refused


@pytest.fixture
def today(machine):
    return timezone.localdate(timezone=machine.shop.zone)


@pytest.fixture
def out(machine, owner, today):
    """The machine, mothballed ten days ago."""
    take_out_of_service(
        machine, made_by=owner, day=today - timedelta(days=10), reason="no work for it"
    )
    machine.refresh_from_db()
    return machine


def post(client, person, name, machine, **typed):
    client.force_login(person)
    return client.post(reverse(f"machines:{name}", args=[machine.pk]), typed)


@pytest.mark.parametrize("role", ["owner", "contractor"])
def test_the_desk_takes_it_out_with_a_day_and_a_reason(client, request, machine, today, role):
    person = request.getfixturevalue(role)
    answer = post(client, person, "retire", machine, day=today, reason="sold")
    assert answer.url == machine.get_absolute_url()
    found = machine.breaks.get()
    assert (found.out_on, found.reason, found.made_by) == (today, "sold", person)
    machine.refresh_from_db()
    assert machine.is_out_of_service


def test_an_operator_may_do_neither(client, operator, out):
    assert post(client, operator, "put_back", out).status_code == 403


def test_nothing_falls_due_while_it_is_out_and_it_does_again_afterwards(
    machine, owner, shop, today
):
    make_plan(
        shop=shop,
        machine=machine,
        made_by=owner,
        what="oil",
        kind="lubrication",
        weeks=1,
        starts_on=today - timedelta(days=100),
    )
    of_machine = Machine.objects.filter(pk=machine.pk)
    assert due_items(of_machine)
    take_out_of_service(machine, made_by=owner, day=today, reason="mothballed")
    assert due_items(of_machine) == []
    put_back_in_service(machine, by=owner, day=today, reason="work again")
    assert due_items(of_machine)


def test_its_page_says_since_when_and_why(client, operator, out, today):
    client.force_login(operator)
    text = client.get(out.get_absolute_url()).content.decode()
    assert "Out of service since" in text
    assert "no work for it" in text
    assert "May run" not in text


def test_a_stopped_machine_that_is_out_still_says_that_it_is_stopped(client, owner, out):
    stop_machine(out)
    client.force_login(owner)
    assert "Stopped until looked at" in client.get(out.get_absolute_url()).content.decode()


def test_the_list_of_machines_says_so(client, owner, out):
    client.force_login(owner)
    assert "out of service" in client.get(reverse("machines:machines")).content.decode()


def test_the_history_tells_both_ways(client, owner, out, today):
    put_back_in_service(out, by=owner, day=today, reason="an order came in")
    client.force_login(owner)
    page = client.get(reverse("machines:history", args=[out.pk]), {"kind": "out of service"})
    assert [(event.kind, event.text, event.who) for event in page.context["events"]] == [
        ("in service", "an order came in", owner.name),
        ("out of service", "no work for it", owner.name),
    ]


def test_it_is_put_back_with_a_day_and_a_reason(client, owner, out, today):
    answer = post(client, owner, "put_back", out, day=today, reason="an order came in")
    assert answer.url == out.get_absolute_url()
    found = out.breaks.get()
    assert (found.back_on, found.back_reason, found.back_by) == (
        today,
        "an order came in",
        owner,
    )
    out.refresh_from_db()
    assert out.out_of_service_on is None


def test_the_day_it_came_back_it_may_go_out_again(out, owner, today):
    put_back_in_service(out, by=owner, day=today, reason="tried")
    take_out_of_service(out, made_by=owner, day=today, reason="no good")
    assert out.breaks.count() == 2


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"day": "soon", "reason": "sold"}, "day", "expected such as 2025-03-05"),
        ({"day": "", "reason": "sold"}, "day", "required"),
        ({"day": "2025-03-05", "reason": ""}, "reason", "required"),
        ({"day": "2199-03-05", "reason": "sold"}, "day", "is to come"),
    ],
)
def test_wrong_input_is_refused_at_its_field(client, owner, machine, typed, field, said):
    page = post(client, owner, "retire", machine, **typed)
    assert said in page.context["form"].errors[field][0]
    assert not machine.breaks.exists()


def test_it_does_not_come_back_before_it_went(client, owner, out, today):
    day = today - timedelta(days=11)
    page = post(client, owner, "put_back", out, day=day, reason="an order")
    assert "expected that day or a later one" in page.context["form"].errors["day"][0]


def test_it_does_not_go_before_it_came_back(client, owner, out, today):
    put_back_in_service(out, by=owner, day=today, reason="an order")
    day = today - timedelta(days=5)
    page = post(client, owner, "retire", out, day=day, reason="sold")
    assert "It was put back on" in page.context["form"].errors["day"][0]


def test_a_form_sent_twice_makes_one_break(client, owner, machine, today):
    typed = {"day": today, "reason": "sold", "entry_id": uuid.uuid4()}
    post(client, owner, "retire", machine, **typed)
    post(client, owner, "retire", machine, **typed)
    assert machine.breaks.count() == 1


def test_taking_out_twice_is_refused(out, owner, today):
    with pytest.raises(Refused, match="out of service already"):
        take_out_of_service(out, made_by=owner, day=today, reason="sold")


def test_a_machine_in_service_is_not_put_back(machine, owner, today):
    with pytest.raises(Refused, match="in service"):
        put_back_in_service(machine, by=owner, day=today, reason="an order")


def test_one_taken_out_before_reasons_were_kept_comes_back(machine, owner, today):
    machine.out_of_service_on = today - timedelta(days=3)
    machine.save()
    found = put_back_in_service(machine, by=owner, day=today, reason="an order")
    assert (found.out_on, found.reason) == (today - timedelta(days=3), "not on record")


def test_the_database_keeps_one_open_break_a_machine(out, owner, today):
    with pytest.raises(IntegrityError), transaction.atomic():
        ServiceBreak.objects.create(machine=out, out_on=today, reason="again", made_by=owner)
